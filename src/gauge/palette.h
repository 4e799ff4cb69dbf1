// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/colour.h"

namespace frayhold::gauge {

// The distinct colours of a picture, so that each is weighed once and not once a pixel. Colours that share a
// box of CIELAB, 2 units wide along each axis, count as one: they differ by at most about 2 from its mean.
struct Palette {
    std::vector<Lab> colours;  // mean of the pixels of each
    cv::Mat index;             // CV_32S: which of `colours` each pixel has, -1 outside the mask
};

// lab: CV_32FC3 (lab_image); mask: CV_8U, 0 outside.
[[nodiscard]] Palette palette_of(const cv::Mat& lab, const cv::Mat& mask);

// For each colour the number of the box of CIELAB, `side` units wide, in which it lies: 0, 1, 2, ... in the
// order met.
[[nodiscard]] std::vector<int> boxes_of(const std::vector<Lab>& colours, double side);

// CIEDE2000 with kL = 2 from each colour to the nearest one of the set; infinity for an empty set. Only the
// four nearest by plain CIELAB distance (lightness halved) are compared.
[[nodiscard]] std::vector<float> distances(const std::vector<Lab>& colours, std::vector<Lab> set);

}  // namespace frayhold::gauge
