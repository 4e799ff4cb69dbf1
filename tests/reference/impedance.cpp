// SPDX-License-Identifier: Apache-2.0
#include "reference/impedance.h"

#include <array>
#include <cmath>
#include <opencv2/core/matx.hpp>
#include <random>

namespace reference {
namespace {

using frayhold::gauge::propagate;
using frayhold::gauge::Random;
using frayhold::gauge::Spread;

// JCGM 100, table H.2, from memory: volts, amperes, radians.
constexpr std::array<std::array<double, 3>, 5> readings{{
    {5.007, 19.663e-3, 1.0456},
    {4.994, 19.639e-3, 1.0438},
    {5.005, 19.640e-3, 1.0468},
    {4.990, 19.685e-3, 1.0428},
    {4.999, 19.678e-3, 1.0433},
}};

struct Inputs {
    cv::Vec3d mean;
    cv::Matx33d root;  // L of the Cholesky decomposition of the covariance of the means
};

Inputs inputs() {
    const auto n = static_cast<double>(readings.size());
    Inputs inputs;
    for (const auto& row : readings) inputs.mean += cv::Vec3d(row[0], row[1], row[2]) / n;
    cv::Matx33d covariance = cv::Matx33d::zeros();
    for (const auto& row : readings) {
        const cv::Vec3d off = cv::Vec3d(row[0], row[1], row[2]) - inputs.mean;
        covariance += off * off.t() * (1.0 / (n * (n - 1.0)));  // JCGM 100, 5.2.3, equation 17
    }
    for (int i = 0; i < 3; ++i)
        for (int j = 0; j <= i; ++j) {
            double left = covariance(i, j);
            for (int k = 0; k < j; ++k) left -= inputs.root(i, k) * inputs.root(j, k);
            inputs.root(i, j) = i == j ? std::sqrt(left) : left / inputs.root(j, j);
        }
    return inputs;
}

// The spread of a weighted sum of R, X and Z. One seed for all: sums of the same draws tell their covariance.
Spread drawn(const Inputs& inputs, const cv::Vec3d& weights) {
    return propagate(
        [&](Random& random) {
            std::normal_distribution normal(0.0, 1.0);
            const double a = normal(random);
            const double b = normal(random);
            const double c = normal(random);
            const cv::Vec3d x = inputs.mean + inputs.root * cv::Vec3d(a, b, c);
            const double magnitude = x[0] / x[1];
            return weights.dot({magnitude * std::cos(x[2]), magnitude * std::sin(x[2]), magnitude});
        },
        200'000, 102);
}

double correlation(const Spread& a, const Spread& b, const Spread& sum) {
    return (sum.u * sum.u - a.u * a.u - b.u * b.u) / (2.0 * a.u * b.u);
}

}  // namespace

Impedance impedance_drawn() {
    const Inputs all = inputs();
    Impedance impedance;
    impedance.resistance = drawn(all, {1, 0, 0});
    impedance.reactance = drawn(all, {0, 1, 0});
    impedance.magnitude = drawn(all, {0, 0, 1});
    impedance.r_resistance_reactance =
        correlation(impedance.resistance, impedance.reactance, drawn(all, {1, 1, 0}));
    impedance.r_resistance_magnitude =
        correlation(impedance.resistance, impedance.magnitude, drawn(all, {1, 0, 1}));
    impedance.r_reactance_magnitude =
        correlation(impedance.reactance, impedance.magnitude, drawn(all, {0, 1, 1}));
    return impedance;
}

}  // namespace reference
