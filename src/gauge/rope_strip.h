// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

namespace frayhold::gauge {

// A straight picture of the rope: each row is a station along it, columns lie across. The lists have one
// entry a row.
struct RopeStrip {
    cv::Mat bgr;   // CV_8UC3, sRGB
    cv::Mat seen;  // CV_8U, 0 where the pixel shows something else (the card); may be empty: all seen
    double mm_per_px = 0.0;     // at the rope's upper side, along and across
    double blur_mm = 0.12;      // of the lens, one standard deviation
    std::vector<double> left;   // columns of the dense edges; NaN where there is none
    std::vector<double> right;  //
    // Where the limbs run by what the rope shows farther along: core at a limb may hide it from the edges'
    // search. Empty: the edges themselves.
    std::vector<double> outer_left;
    std::vector<double> outer_right;
    std::vector<bool> damaged;  // the rows not to learn the sheath from, and the only ones in which to look
                                // for core. Empty: look everywhere, and tell the sheath by what recurs alone
    double white = 0.8;         // linear light of white paper in the same light, 0 to 1
};

}  // namespace frayhold::gauge
