// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>

namespace frayhold::gauge {

// The edge a person most likely means near a picked point: the place within `within_px` where the smoothed
// lightness changes most, near ones counting for more, refined across the edge to a fraction of a pixel by a
// parabola through the slope. It helps the hand only: a picked point keeps the doubt of a pick. Empty where
// nothing there is an edge.
[[nodiscard]] std::optional<cv::Point2d> nearest_edge(const cv::Mat& bgr, cv::Point2d picked_px,
                                                      double within_px);

}  // namespace frayhold::gauge
