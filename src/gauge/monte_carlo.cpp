// SPDX-License-Identifier: Apache-2.0
#include "gauge/monte_carlo.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <stdexcept>
#include <vector>

namespace frayhold::gauge {

Spread propagate(const std::function<double(Random&)>& draw, int draws, std::uint64_t seed, double p) {
    if (draws < 100) throw std::invalid_argument("propagate: at least 100 draws are needed");
    if (!(p > 0.0 && p < 1.0)) throw std::invalid_argument("propagate: p must lie between 0 and 1");
    Random random(seed);
    std::vector<double> y(static_cast<std::size_t>(draws));
    for (double& each : y) {
        each = draw(random);
        if (!std::isfinite(each)) throw std::invalid_argument("propagate: a draw is not a finite number");
    }

    const auto count = static_cast<double>(draws);
    Spread spread;
    spread.draws = draws;
    spread.mean = std::accumulate(y.begin(), y.end(), 0.0) / count;
    double squares = 0.0;
    for (const double each : y) squares += (each - spread.mean) * (each - spread.mean);
    spread.u = std::sqrt(squares / (count - 1.0));

    // JCGM 101, 7.7: an interval from the r-th to the (r + q)-th draw in order, q of them inside.
    std::sort(y.begin(), y.end());
    const std::size_t q = std::min(static_cast<std::size_t>(p * count + 0.5), y.size() - 1);
    const std::size_t starts = y.size() - q;
    const std::size_t middle = (starts - 1) / 2;
    spread.symmetric = {y[middle], y[middle + q]};
    std::size_t best = 0;
    for (std::size_t r = 1; r < starts; ++r)
        if (y[r + q] - y[r] < y[best + q] - y[best]) best = r;
    spread.shortest = {y[best], y[best + q]};
    return spread;
}

double numerical_tolerance(double u, int significant_digits) {
    if (!(u > 0.0) || significant_digits < 1)
        throw std::invalid_argument("numerical_tolerance: u and the digits must be above zero");
    const double exponent = std::floor(std::log10(u)) - (significant_digits - 1);
    return 0.5 * std::pow(10.0, exponent);
}

bool agrees_within(double tolerance, double y, double U, const Spread& spread) {
    return std::abs(y - U - spread.symmetric.low) <= tolerance &&
           std::abs(y + U - spread.symmetric.high) <= tolerance;
}

}  // namespace frayhold::gauge
