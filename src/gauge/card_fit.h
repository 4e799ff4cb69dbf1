// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/card_search.h"
#include "gauge/view_fitter.h"
#include "units/error.h"

namespace frayhold::gauge {

// Fits the printed card from its fiducials as first seen: pose from the marker corners, then all straight
// printed edges that can be seen, to a fraction of a pixel. Both poses that a flat target allows are tried
// (Schweighofer & Pinz 2006); the better fit is kept. Errors (Fault::input): no sighting, or the edges of a
// card are not there (something else bears a similar mark).
[[nodiscard]] Result<ViewFit> fit_card(const cv::Mat& bgr, const std::vector<MarkerSighting>& markers,
                                       const CameraPrior& prior);

// Whether four points turn to the right at each of them, y downward: as a card's corners seen from above do.
[[nodiscard]] bool go_round_clockwise(const std::array<cv::Point2d, 4>& points_px);

// A point picked by a person with a pointer, in either direction (one standard deviation; common practice, no
// source).
inline constexpr double corner_pick_u_px = 1.5;

// Fits the view from the four corners of an ID-1 card given by hand, each picked to within pick_u_px (one
// standard deviation in either direction). The corners are those of the card's straight sides, drawn out past
// the rounding. Errors (Fault::input): the four points are not a card seen from above, in order.
[[nodiscard]] Result<ViewFit> fit_corners(const std::array<cv::Point2d, 4>& corners_px,
                                          const CameraPrior& prior, double pick_u_px);

}  // namespace frayhold::gauge
