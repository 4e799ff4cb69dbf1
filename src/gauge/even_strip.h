// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cmath>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "gauge/rope_strip.h"

namespace frayhold::gauge {

// Rows of one stretch of rope.
using Piece = std::vector<int>;

// The rope's own part of a strip, reduced to about 0.2 mm a pixel and evened out in light: along the rope by
// the running median of 80 mm, across it by the median of the undamaged rope from limb to limb. What then
// differs in lightness differs in colour, not in light.
struct EvenStrip {
    cv::Mat lab;     // CV_32FC3, L a b
    cv::Mat linear;  // CV_32FC3, linear light, blue green red
    cv::Mat gain;    // CV_32F, what the picture's linear light was multiplied by
    cv::Mat rope;    // CV_8U, 255 between the dense edges
    cv::Mat inner;   // CV_8U, the same without the limbs, where the bench shines through loose fibres
    std::vector<bool> damaged;  // one a row
    std::vector<Piece> pieces;  // undamaged rope, cut into lengths of 10 mm
    double mm_per_px = 0.0;
    double width_mm = 0.0;  // median
    int factor = 1;         // strip pixels a pixel
    int first_column = 0;   // of the strip

    [[nodiscard]] int px(double mm) const {
        return std::max(1, static_cast<int>(std::lround(mm / mm_per_px)));
    }
};

// Empty where there are less than 40 mm of undamaged rope.
[[nodiscard]] std::optional<EvenStrip> even_out(const RopeStrip& strip);

// Calls visit(row, column) for every pixel that the mask (CV_8U) has in the rows.
template <class Visit>
void visit_pixels(const cv::Mat& mask, const Piece& rows, const Visit& visit) {
    for (const int row : rows) {
        const auto* in = mask.ptr<uchar>(row);
        for (int column = 0; column < mask.cols; ++column)
            if (in[column] != 0) visit(row, column);
    }
}

template <class Visit>
void visit_pixels(const cv::Mat& mask, const Visit& visit) {
    for (int row = 0; row < mask.rows; ++row) visit_pixels(mask, {row}, visit);
}

}  // namespace frayhold::gauge
