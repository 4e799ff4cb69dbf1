// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/gauge.h"
#include "gauge/view_fitter.h"
#include "units/error.h"

namespace frayhold::gauge {

// A view from two points of a rule: taken for square on, with the rule's scale. Its true tilt is not known,
// so the covariance holds rule_tilt_u either way, turned about the rule's middle, where the scale is right;
// the focal length keeps the camera's prior, and the distance follows it.
//
// That is the linear part. What a tilt foreshortens along itself, 1 - cos, is of second order and has no
// gradient: rule_scale_u_rel states it for the scale of any length read in this view.
//
// No card lies in this view: its frame begins far from the picture, so that nothing is taken to be hidden by
// one. Errors (Fault::input): the points are too close together to give a scale.
[[nodiscard]] Result<ViewFit> fit_rule(const RuleMark& rule, const CameraPrior& prior, double pick_u_px);

inline constexpr double rule_tilt_u = 0.26;                                // radians: 15 degrees
inline constexpr double rule_scale_u_rel = rule_tilt_u * rule_tilt_u / 2;  // 1 - cos to second order

}  // namespace frayhold::gauge
