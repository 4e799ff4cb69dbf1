// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>
#include <vector>

namespace frayhold::gauge {

// A smooth line along the item on the bench, in stations of one spacing.
struct CentreLine {
    double spacing_mm = 1.0;
    std::vector<cv::Point2d> at_mm;
    std::vector<cv::Point2d> along;  // unit length, towards the next station

    [[nodiscard]] std::size_t size() const { return at_mm.size(); }
    [[nodiscard]] double length_mm() const {
        return at_mm.empty() ? 0.0 : spacing_mm * static_cast<double>(at_mm.size() - 1);
    }
    // Unit length, square to the line: (-y, x) of `along`.
    [[nodiscard]] cv::Point2d across(std::size_t station) const {
        return {-along[station].y, along[station].x};
    }
};

// Smooths a polyline with a Gaussian of the given length along the line (ends are continued straight) and
// lays stations along it. At least two points.
[[nodiscard]] CentreLine centre_line(const std::vector<cv::Point2d>& points_mm, double smoothing_mm,
                                     double spacing_mm);

}  // namespace frayhold::gauge
