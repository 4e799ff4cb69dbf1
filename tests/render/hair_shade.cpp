// SPDX-License-Identifier: Apache-2.0
#include "render/hair_shade.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "render/fray_profile.h"

namespace frayhold::render {

HairShade::HairShade(const std::vector<Hair>& hairs, const Light& light) {
    if (hairs.empty()) return;
    const auto shadow_of = [&light](Vec3 p) {
        return plan(p) - (p.z / light.towards.z) * plan(light.towards);
    };
    double right = -1e9;
    double high = -1e9;
    left_ = 1e9;
    low_ = 1e9;
    for (const Hair& hair : hairs)
        for (const Vec3 p : {hair.root, hair.bend, hair.tip}) {
            const Vec2 q = shadow_of(p);
            left_ = std::min(left_, q.x);
            low_ = std::min(low_, q.y);
            right = std::max(right, q.x);
            high = std::max(high, q.y);
        }
    constexpr double margin_mm = 4.0;
    left_ -= margin_mm;
    low_ -= margin_mm;
    columns_ = static_cast<int>((right + margin_mm - left_) / cell_mm) + 2;
    rows_ = static_cast<int>((high + margin_mm - low_) / cell_mm) + 2;
    cv::Mat cover(rows_, columns_, CV_32FC1, cv::Scalar(0));
    for (const Hair& hair : hairs) {
        const int steps = std::max(2, static_cast<int>(hair_length(hair) / (0.5 * cell_mm)));
        Vec2 last = shadow_of(hair.root);
        for (int i = 1; i <= steps; ++i) {
            const Vec2 p = shadow_of(along_hair(hair, static_cast<double>(i) / steps));
            const Vec2 middle = 0.5 * (p + last);
            const int x = static_cast<int>((middle.x - left_) / cell_mm);
            const int y = static_cast<int>((middle.y - low_) / cell_mm);
            cover.at<float>(y, x) +=
                static_cast<float>(length(p - last) * hair.thickness_mm / (cell_mm * cell_mm));
            last = p;
        }
    }
    // A lamp of some size blurs a shadow the more the higher the fibre stands: one middling height for all.
    const double blur_mm = 0.25 + 4.0 * std::tan(light.half_angle);
    cv::GaussianBlur(cover, cover, cv::Size(), blur_mm / cell_mm, 0, cv::BORDER_CONSTANT);
    through_.reserve(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_));
    for (int y = 0; y < rows_; ++y)
        for (int x = 0; x < columns_; ++x) through_.push_back(std::exp(-cover.at<float>(y, x)));
}

}  // namespace frayhold::render
