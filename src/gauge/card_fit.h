// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "gauge/camera.h"
#include "gauge/card_search.h"
#include "gauge/view.h"
#include "units/error.h"

namespace frayhold::gauge {

// The view of the bench with what is known of its doubt.
//
// Model: every edge sighting is off across its edge by independent normal noise; the focal length and k1 carry
// normal priors (see camera_prior). `covariance` is then (J' J / s^2 + P)^-1 at the optimum, with s the robust
// scale of the residuals, times `noise_correlation` for neighbouring sightings which share pixels and JPEG blocks.
// It is the covariance of View::Parameters, in their order and units. Where the card cannot tell a parameter
// (the focal length, seen square on), its variance is that of the prior, never zero.
struct ViewFit {
    View view;
    cv::Matx<double, View::parameter_count, View::parameter_count> covariance;
    double rms_px = 0.0;          // of the accepted residuals
    int edge_points = 0;          // accepted sightings
    double seen_fraction = 0.0;   // accepted, as a share of all looked for: low where the card is hidden
    double edge_width_px = 0.0;   // median 10-90 % width of full-step edges
    double white = 0.0;           // linear luminance step between ink and paper, median
};

// Prior of the two camera parameters which a card alone cannot tell well.
// Without EXIF: 35 mm-equivalent lengths of phones and small cameras, 24 to 70 mm, log-normal about 33 mm.
// Without a profile: residual distortion after the camera's own correction, k1 = 0 +- 0.01.
struct CameraPrior {
    double log_focal = 0.0;
    double log_focal_u = 0.0;
    double k1 = 0.0;
    double k1_u = 0.0;
    double k2 = 0.0;
    cv::Point2d centre_px;
};
[[nodiscard]] CameraPrior camera_prior(const Camera& camera, cv::Size picture);

// Fits the printed card from its fiducials as first seen: pose from the marker corners, then all straight printed
// edges that can be seen, to a fraction of a pixel. Both poses that a flat target allows are tried (Schweighofer &
// Pinz 2006); the better fit is kept.
// Errors (Fault::input): no sighting, or the edges of a card are not there (something else bears a similar mark).
[[nodiscard]] Result<ViewFit> fit_card(const cv::Mat& bgr, const std::vector<MarkerSighting>& markers,
                                       const CameraPrior& prior);

// Fits the view from the four corners of an ID-1 card given by hand, each picked to within pick_u_px (one standard
// deviation in either direction). The corners are those of the card's straight sides, drawn out past the rounding.
// Errors (Fault::input): the four points are not a card seen from above, in order.
[[nodiscard]] Result<ViewFit> fit_corners(const std::array<cv::Point2d, 4>& corners_px, const CameraPrior& prior,
                                          double pick_u_px);

}  // namespace frayhold::gauge
