// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <random>

#include "gauge/student_t.h"

// Propagation of distributions by the Monte Carlo method, JCGM 101:2008. It needs no derivatives and no
// normal result, and so proves (or refutes) an analytic budget: see agrees_within.
namespace frayhold::gauge {

using Random = std::mt19937_64;

struct Interval {
    double low = 0.0;
    double high = 0.0;
};

// What the draws say of the measured quantity, all in its own unit.
struct Spread {
    int draws = 0;
    double mean = 0.0;   // JCGM 101, 7.6, equation 16
    double u = 0.0;      // JCGM 101, 7.6, equation 17
    Interval symmetric;  // probabilistically symmetric coverage interval (JCGM 101, 7.7.2)
    Interval shortest;   // shortest coverage interval (JCGM 101, 7.7.3 and 5.3.4)
};

// Draws the quantity so many times. `draw` makes one draw: it takes each input from its own distribution by
// the generator it is given, and returns the model's value; correlated inputs are drawn together in it. One
// seed gives one result. u has a relative sampling error of 1 / sqrt(2 draws) for a normal result; the ends
// of the intervals need more: JCGM 101, 7.2.2, asks for 10^4 / (1 - p) draws, 220,000 here. Throws
// std::invalid_argument for fewer than 100 draws, p outside 0 to 1, or a draw that is not a finite number.
[[nodiscard]] Spread propagate(const std::function<double(Random&)>& draw, int draws, std::uint64_t seed,
                               double p = coverage_probability);

// Half a unit in the last of so many significant digits of u (JCGM 101, 7.9.2): u = 0.00035 to 2 digits gives
// 0.000005.
[[nodiscard]] double numerical_tolerance(double u, int significant_digits);

// Whether y ± U and the draws' symmetric interval have the same ends within the tolerance (JCGM 101, 8.1.3).
[[nodiscard]] bool agrees_within(double tolerance, double y, double U, const Spread& spread);

}  // namespace frayhold::gauge
