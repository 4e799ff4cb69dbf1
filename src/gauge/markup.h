// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

#include "gauge/gauge.h"

namespace frayhold::gauge {

// The photo with what was found drawn over it: the card's outline, each reading's outline with its value and
// U, and a scale bar. Reduced so that its longer side is at most longest_side_px (0: as large as the photo).
// Returns CV_8UC3.
[[nodiscard]] cv::Mat draw_markup(const cv::Mat& bgr, const Report& report, int longest_side_px = 2400);

}  // namespace frayhold::gauge
