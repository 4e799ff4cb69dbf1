// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/types.hpp>

namespace frayhold::gauge {

// Four straight sides that close: clockwise as seen in the picture, corners by intersection, good to a few
// pixels.
struct Outline {
    std::array<cv::Point2d, 4> corners_px;
    double support = 0.0;  // share of its length where an edge was seen, 0 to 1
};

// Whether four corners go round clockwise without a bay, all well in a picture of that size.
[[nodiscard]] inline bool can_be_outline(const std::array<cv::Point2d, 4>& corners_px, cv::Size picture) {
    constexpr double margin_px = 2.0;
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d a = corners_px[i], b = corners_px[(i + 1) % 4], c = corners_px[(i + 2) % 4];
        if ((b - a).cross(c - b) <= 0 || a.x < margin_px || a.y < margin_px ||
            a.x > picture.width - 1 - margin_px || a.y > picture.height - 1 - margin_px)
            return false;
    }
    return true;
}

}  // namespace frayhold::gauge
