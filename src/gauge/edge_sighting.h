// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>

#include "gauge/light.h"

namespace frayhold::gauge {

// One point of an edge, found along its normal.
struct EdgeSighting {
    double offset_px = 0.0;  // from the place looked at, along the normal, to the edge
    double step = 0.0;       // rise of linear luminance across the edge, 0 to 1
    double width_px = 0.0;   // step / steepest slope: 2 % less than the 10-90 % width of a Gaussian blur
};

// Looks along `towards_light` (unit length, picture pixels) within +-reach_px of `near_px` for the steepest
// rise of linear luminance, and places the edge at the centre of gravity of the slope around it, which is
// where the edge lies under any symmetric blur. A reach beyond 30 px is cut to that. Empty where no rise of
// at least `least_step` is seen or the picture ends. Where colour, not brightness, makes the edge, `mix`
// weighs linear blue, green and red instead.
[[nodiscard]] std::optional<EdgeSighting> sight_edge(const cv::Mat& bgr, cv::Point2d near_px,
                                                     cv::Point2d towards_light, double reach_px,
                                                     double least_step, const cv::Vec3d& mix = luminance_mix);

}  // namespace frayhold::gauge
