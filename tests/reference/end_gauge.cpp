// SPDX-License-Identifier: Apache-2.0
#include "reference/end_gauge.h"

#include <cmath>
#include <numbers>
#include <random>

namespace reference {

using frayhold::gauge::Random;

frayhold::gauge::Reading end_gauge_analytic() {
    // JCGM 100, table H.1, from memory: each line |c_i| u(x_i) in nm and its degrees of freedom. The
    // reading's kind plays no part in combining.
    return frayhold::gauge::combine(frayhold::gauge::Measurand::distance, 50'000'838.0,
                                    {{"length of the standard", 25.0, 18.0},
                                     {"observed difference, repeats and comparator", 9.7, 25.6},
                                     {"difference in expansion", 2.9, 50.0},
                                     {"difference in temperature", 16.6, 2.0}});
}

frayhold::gauge::Spread end_gauge_drawn() {
    // Bounds of a rectangle themselves known only within +-d: JCGM 101, 6.4.3.
    const auto curved_trapezoid = [](Random& random, double half_width, double d) {
        const double half = half_width + std::uniform_real_distribution(-d, d)(random);
        return std::uniform_real_distribution(-half, half)(random);
    };
    const auto draw = [&](Random& random) {
        const auto t = [&](double mean, double scale, double dof) {
            return mean + scale * std::student_t_distribution(dof)(random);
        };
        const double standard = t(50'000'623.0, 25.0, 18.0);
        const double difference = t(215.0, 6.0, 24.0) + t(0.0, 4.0, 5.0) + t(0.0, 7.0, 8.0);
        const double expansion = std::uniform_real_distribution(9.5e-6, 13.5e-6)(random);
        const double mean_temperature = std::normal_distribution(-0.1, 0.2)(random);
        const double cycle =
            0.5 * std::sin(std::uniform_real_distribution(0.0, 2.0 * std::numbers::pi)(random));
        const double expansion_difference = curved_trapezoid(random, 1.0e-6, 0.1e-6);
        const double temperature_difference = curved_trapezoid(random, 0.050, 0.025);
        return standard + difference -
               standard *
                   (expansion_difference * (mean_temperature + cycle) + expansion * temperature_difference) -
               50'000'000.0;
    };
    return frayhold::gauge::propagate(draw, 400'000, 101, 0.99);
}

}  // namespace reference
