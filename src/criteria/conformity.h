// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/reading.h"
#include "units/uncertain.h"

// Whether a measured value lies beyond a limit: JCGM 106:2012.
namespace frayhold::criteria {

// The probability that the true value lies above the limit, given y ± u (JCGM 106:2012, 7.2 and 7.3: one
// minus the conformance probability for a single upper limit, with no knowledge before the reading). The
// distribution is normal; with fewer than 50 degrees of freedom Student's t scaled by u (JCGM
// 101:2008, 6.4.9.2). With u = 0 it is 0 or 1.
[[nodiscard]] double probability_above(const Uncertain<double>& y, double limit);

// 'Nearly 0' and 'nearly 1': beyond two standard uncertainties of the limit, 1 - Phi(2) = 2.28 %.
inline constexpr double nearly_zero = 0.02275013194817921;
inline constexpr double nearly_one = 1.0 - nearly_zero;

// a / b with both uncertainties (JCGM 100:2008, 5.1.2), taken as uncorrelated: both come from one scale,
// which makes the true u of the ratio smaller, never larger. Throws std::invalid_argument where b is 0.
[[nodiscard]] Uncertain<double> ratio(const gauge::Reading& a, const gauge::Reading& b);

}  // namespace frayhold::criteria
