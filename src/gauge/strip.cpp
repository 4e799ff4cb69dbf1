// SPDX-License-Identifier: Apache-2.0
#include "gauge/strip.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"

namespace frayhold::gauge {

cv::Point2d Strip::bench_mm(double row, double across_mm) const {
    const double inside = std::clamp(row, 0.0, static_cast<double>(line.size() - 1));
    const auto i = static_cast<std::size_t>(std::min(inside, static_cast<double>(line.size() - 1)));
    const double beyond = (row - static_cast<double>(i)) * line.spacing_mm;
    return line.at_mm[i] + line.along[i] * beyond + line.across(i) * across_mm;
}

Strip unroll(const cv::Mat& picture, int factor, const View& view, const CentreLine& line,
             double half_width_mm) {
    Strip strip;
    strip.line = line;
    strip.mm_per_px = line.spacing_mm;
    strip.middle = static_cast<int>(std::ceil(half_width_mm / strip.mm_per_px));
    const int columns = 2 * strip.middle + 1;
    const int rows = static_cast<int>(line.size());

    // Across so short a line, perspective is straight enough between knots to interpolate: under 0.01 px at 8
    // knots.
    constexpr int knots = 8;
    cv::Mat map(rows, columns, CV_32FC2);
    strip.seen.create(rows, columns, CV_8U);
    const cv::Rect2d card(-0.5, -0.5, id1_width_mm + 1, id1_height_mm + 1);
    cv::parallel_for_({0, rows}, [&](const cv::Range& range) {
        for (int r = range.start; r < range.end; ++r) {
            std::array<cv::Point2d, knots + 1> at;
            for (int k = 0; k <= knots; ++k) {
                const double across = strip.across_mm((columns - 1.0) * k / knots);
                const cv::Point2d px = view.picture_from_bench(strip.bench_mm(r, across));
                at[static_cast<std::size_t>(k)] = {(px.x + 0.5) / factor - 0.5, (px.y + 0.5) / factor - 0.5};
            }
            auto* to = map.ptr<cv::Vec2f>(r);
            auto* seen = strip.seen.ptr<uchar>(r);
            const cv::Point2d first = strip.bench_mm(r, strip.across_mm(0));
            const cv::Point2d step = strip.line.across(static_cast<std::size_t>(r)) * strip.mm_per_px;
            for (int c = 0; c < columns; ++c) {
                const double position = static_cast<double>(c) * knots / (columns - 1);
                const int k = std::min(knots - 1, static_cast<int>(position));
                const cv::Point2d px = at[static_cast<std::size_t>(k)] * (k + 1 - position) +
                                       at[static_cast<std::size_t>(k) + 1] * (position - k);
                to[c] = {static_cast<float>(px.x), static_cast<float>(px.y)};
                const bool inside =
                    px.x >= 0 && px.y >= 0 && px.x <= picture.cols - 1 && px.y <= picture.rows - 1;
                seen[c] = inside && !card.contains(first + step * static_cast<double>(c)) ? 1 : 0;
            }
        }
    });
    cv::remap(picture, strip.bgr, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    return strip;
}

}  // namespace frayhold::gauge
