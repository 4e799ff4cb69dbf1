// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>

namespace frayhold::render {

// Seeded numbers that are the same with every standard library: the engine's sequence is fixed by the
// standard, the distributions are our own. Draw into named values or braces: the order of a call's arguments
// is not fixed.
class Random {
  public:
    explicit Random(std::uint64_t seed) : engine_(seed) {}

    // [0, 1)
    double uniform() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
    double uniform(double from, double to) { return from + (to - from) * uniform(); }
    // from .. to, both possible
    int integer(int from, int to) { return from + static_cast<int>(uniform() * (to - from + 1)); }
    bool chance(double probability) { return uniform() < probability; }
    // Mean 0, standard deviation 1 (Box and Muller 1958).
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
        return radius * std::cos(2.0 * std::numbers::pi * uniform());
    }
    // Gamma distribution of shape 2 and mean 1: broad, with a long tail.
    double gamma2() {
        const double a = 1.0 - uniform();
        return -0.5 * std::log(a * (1.0 - uniform()));
    }
    std::uint64_t word() { return engine_(); }

  private:
    std::mt19937_64 engine_;
};

}  // namespace frayhold::render
