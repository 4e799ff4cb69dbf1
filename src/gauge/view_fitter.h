// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "gauge/camera.h"
#include "gauge/view.h"

namespace frayhold::gauge {

// The view of the bench with what is known of its doubt.
//
// Model: every edge sighting is off across its edge by independent normal noise; the focal length and k1
// carry normal priors (see camera_prior). `covariance` is then (J' J / (c s^2) + P)^-1 at the optimum, with s
// the robust scale of the residuals and c `noise_correlation`, for neighbouring sightings share pixels and
// JPEG blocks. It is the covariance of View::Parameters, in their order and units. Where the card cannot tell
// a parameter (the focal length, seen square on), its variance is that of the prior, never zero.
struct ViewFit {
    View view;
    cv::Matx<double, View::parameter_count, View::parameter_count> covariance;
    double rms_px = 0.0;         // of the accepted residuals
    int edge_points = 0;         // accepted sightings
    double seen_fraction = 0.0;  // accepted, as a share of all looked for: low where the card is hidden
    double edge_width_px = 0.0;  // median 10-90 % width of full-step edges
    double white = 0.0;          // linear luminance step between ink and paper, median
};

// Prior of the two camera parameters which a card alone cannot tell well.
// Without EXIF: 35 mm-equivalent lengths of phones and small cameras, 24 to 70 mm, log-normal about 33 mm.
// Without a profile: residual distortion after the camera's correction, k1 = 0 +- 0.01; with one +- 0.002.
struct CameraPrior {
    double log_focal = 0.0;
    double log_focal_u = 0.0;
    double k1 = 0.0;
    double k1_u = 0.0;
    double k2 = 0.0;
    cv::Point2d centre_px;
};
[[nodiscard]] CameraPrior camera_prior(const Camera& camera, cv::Size picture);

// A measured picture point and the direction across its edge: the residual is the distance along `across`
// (unit length). A point known both ways gives two observations.
struct Observation {
    cv::Point2d bench_mm;
    cv::Point2d picture_px;
    cv::Point2d across;
};
[[nodiscard]] double residual_px(const View& view, const Observation& o);

// Fits a View to observations and to the camera's prior by robust least squares: Tukey's biweight, so that
// sightings which follow something else than the card lose all say, and Levenberg-Marquardt steps.
class ViewFitter {
  public:
    explicit ViewFitter(const CameraPrior& prior) : prior_(prior) {}

    // The residuals' standard deviation is estimated from their median absolute deviation, but never below
    // least_scale_px.
    [[nodiscard]] View refined(View view, const std::vector<Observation>& seen, double least_scale_px) const;

    // Fits the view to four or more points in one plane, known both ways to u_px. Both poses that a flat
    // target allows are tried (Schweighofer & Pinz 2006); the better is kept. Empty where no pose sees the
    // points.
    [[nodiscard]] std::optional<View> from_points(const std::vector<Observation>& points, double u_px) const;
    // The two poses, unrefined, with the prior's focal length; each point's two observations in turn.
    [[nodiscard]] std::vector<View> first_views(const std::vector<Observation>& points) const;

    [[nodiscard]] double scale_px(const View& view, const std::vector<Observation>& seen,
                                  double least_px) const;

    // Chi-square with the biweight's ceiling: the squares of residuals over scale, and of the camera's
    // departures from its prior over their standard uncertainties.
    [[nodiscard]] double cost(const View& view, const std::vector<Observation>& seen, double scale_px) const;

    // The fit as told to others: of `looked_for` sightings those in `seen` were found, some of which may be
    // refused. `noise_correlation`: how many neighbouring sightings share one error.
    [[nodiscard]] ViewFit concluded(const View& view, const std::vector<Observation>& seen, int looked_for,
                                    double scale_px, double noise_correlation) const;

  private:
    struct Normal;
    [[nodiscard]] Normal normal_equations(const View& view, const std::vector<Observation>& seen,
                                          double scale_px) const;

    CameraPrior prior_;
};

}  // namespace frayhold::gauge
