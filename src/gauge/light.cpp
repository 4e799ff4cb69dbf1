// SPDX-License-Identifier: Apache-2.0
#include "gauge/light.h"

#include <cmath>

#include "gauge/colour.h"

namespace frayhold::gauge {

const std::array<float, 256>& linear_of_srgb() {
    static const std::array<float, 256> table = [] {
        std::array<float, 256> values{};
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] = static_cast<float>(linear_of_srgb(static_cast<double>(i) / 255.0));
        return values;
    }();
    return table;
}

std::optional<double> light_at(const cv::Mat& bgr, cv::Point2d point_px, const cv::Vec3d& mix) {
    const double x0 = std::floor(point_px.x);
    const double y0 = std::floor(point_px.y);
    if (!(x0 >= 0 && y0 >= 0 && x0 + 1 < bgr.cols && y0 + 1 < bgr.rows)) return std::nullopt;
    const double fx = point_px.x - x0;
    const double fy = point_px.y - y0;
    const auto& linear = linear_of_srgb();
    const auto mixed = [&](const cv::Vec3b& p) {
        return mix[0] * static_cast<double>(linear[p[0]]) + mix[1] * static_cast<double>(linear[p[1]]) +
               mix[2] * static_cast<double>(linear[p[2]]);
    };
    const auto* upper = bgr.ptr<cv::Vec3b>(static_cast<int>(y0)) + static_cast<int>(x0);
    const auto* lower = bgr.ptr<cv::Vec3b>(static_cast<int>(y0) + 1) + static_cast<int>(x0);
    return (1 - fy) * ((1 - fx) * mixed(upper[0]) + fx * mixed(upper[1])) +
           fy * ((1 - fx) * mixed(lower[0]) + fx * mixed(lower[1]));
}

}  // namespace frayhold::gauge
