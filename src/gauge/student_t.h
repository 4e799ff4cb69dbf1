// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace frayhold::gauge {

// The coverage probability of every expanded uncertainty: that of two standard deviations of a normal
// distribution, 95.45 % (JCGM 100:2008, 6.3.3 and table G.1).
inline constexpr double coverage_probability = 0.9544997361036416;

// From here on k is 2. Below, Student's t (it is 2.05 at 50): the step of 2.5 % is smaller than what a
// budget's own u is known to (JCGM 100, table E.1: 10 % at 50 degrees of freedom).
inline constexpr double many_degrees_of_freedom = 50.0;

// The t for which a Student's t variable of these degrees of freedom lies within -t and +t with probability p
// (JCGM 100, table G.2). dof > 0, need not be whole, may be infinite; 0 < p < 1; else throws
// std::invalid_argument.
[[nodiscard]] double student_t(double dof, double p = coverage_probability);

// k of U = k u: 2 for many degrees of freedom, else student_t(dof).
[[nodiscard]] double coverage_factor(double dof);

}  // namespace frayhold::gauge
