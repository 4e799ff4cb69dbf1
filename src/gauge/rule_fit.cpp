// SPDX-License-Identifier: Apache-2.0
#include "gauge/rule_fit.h"

#include <cmath>
#include <opencv2/calib3d.hpp>

#include "language/later.h"

namespace frayhold::gauge {
namespace {

// What may be otherwise: log focal length, k1, tilt about x and about y, log scale.
using Causes = cv::Vec<double, 5>;

// The bench point at the rule's middle: out of sight of any card.
const cv::Vec3d middle_mm(5000.0, 5000.0, 0.0);

View::Parameters view_parameters(const RuleMark& rule, const CameraPrior& prior, const Causes& by) {
    const cv::Point2d along = rule.points_px[1] - rule.points_px[0];
    const cv::Point2d middle = (rule.points_px[0] + rule.points_px[1]) / 2 - prior.centre_px;
    const double log_focal = prior.log_focal + by[0];
    const double mm_per_px = rule.apart.value() / cv::norm(along) * std::exp(by[4]);
    const double distance = std::exp(log_focal) * mm_per_px;
    cv::Matx33d turned, tilted;
    cv::Rodrigues(cv::Vec3d(0, 0, std::atan2(along.y, along.x)), turned);
    cv::Rodrigues(cv::Vec3d(by[2], by[3], 0), tilted);
    const cv::Matx33d rotation = tilted * turned;
    const cv::Vec3d at =
        cv::Vec3d(middle.x * mm_per_px, middle.y * mm_per_px, distance) - rotation * middle_mm;
    cv::Vec3d vector;
    cv::Rodrigues(rotation, vector);
    return {log_focal, prior.k1 + by[1], vector[0], vector[1], vector[2], at[0], at[1], at[2]};
}

}  // namespace

Result<ViewFit> fit_rule(const RuleMark& rule, const CameraPrior& prior, double pick_u_px) {
    const double apart_px = cv::norm(rule.points_px[1] - rule.points_px[0]);
    constexpr double least_picks = 20.0;
    if (!(apart_px > least_picks * pick_u_px) || !(rule.apart.value() > 0))
        return failed(Fault::input, tr_later("rule"), "its two points are too close together to give a scale",
                      "give two marks of the rule that are as far apart as the picture shows");
    const Causes u(prior.log_focal_u, prior.k1_u, rule_tilt_u, rule_tilt_u,
                   std::sqrt(2.0) * pick_u_px / apart_px);
    ViewFit fit{View(view_parameters(rule, prior, Causes()), prior.centre_px, prior.k2), {}};
    for (int i = 0; i < Causes::channels; ++i) {
        constexpr double part = 0.1;  // of a standard uncertainty: keeps to the linear part
        Causes step;
        step[i] = part * u[i];
        const View::Parameters column =
            (view_parameters(rule, prior, step) - view_parameters(rule, prior, -step)) * (0.5 / part);
        fit.covariance += column * column.t();
    }
    fit.edge_points = 2;
    fit.seen_fraction = 1.0;
    return fit;
}

}  // namespace frayhold::gauge
