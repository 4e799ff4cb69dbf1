// SPDX-License-Identifier: Apache-2.0
#include "render/noise_tile.h"

#include <cmath>

#include "render/random.h"

namespace frayhold::render {

NoiseTile::NoiseTile(std::uint64_t seed, int feature_px)
    : feature_(static_cast<float>(feature_px)), values_(static_cast<std::size_t>(side) * side) {
    Random random(seed);
    const int lattice = side / feature_px;
    std::vector<double> knots(static_cast<std::size_t>(lattice) * static_cast<std::size_t>(lattice));
    for (double& knot : knots) knot = random.normal();
    const auto knot = [&](int x, int y) {
        const auto wrap = [lattice](int v) { return static_cast<std::size_t>(((v % lattice) + lattice) % lattice); };
        return knots[wrap(y) * static_cast<std::size_t>(lattice) + wrap(x)];
    };
    // Uniform cubic B-spline weights: smooth in value and slope.
    const auto weight = [](double t, double (&w)[4]) {
        w[0] = (1 - t) * (1 - t) * (1 - t) / 6;
        w[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
        w[2] = (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6;
        w[3] = t * t * t / 6;
    };
    double sum = 0.0;
    double squares = 0.0;
    for (int y = 0; y < side; ++y) {
        for (int x = 0; x < side; ++x) {
            double value = 0.0;
            if (feature_px == 1) {
                value = knot(x, y);
            } else {
                double wx[4];
                double wy[4];
                weight(static_cast<double>(x % feature_px) / feature_px, wx);
                weight(static_cast<double>(y % feature_px) / feature_px, wy);
                for (int j = 0; j < 4; ++j)
                    for (int i = 0; i < 4; ++i)
                        value += wx[i] * wy[j] * knot(x / feature_px + i - 1, y / feature_px + j - 1);
            }
            values_[static_cast<std::size_t>(y) * side + static_cast<std::size_t>(x)] = static_cast<float>(value);
            sum += value;
            squares += value * value;
        }
    }
    const double n = static_cast<double>(values_.size());
    const double mean = sum / n;
    const double scale = 1.0 / std::sqrt(squares / n - mean * mean);
    for (float& value : values_) value = static_cast<float>((static_cast<double>(value) - mean) * scale);
}

}  // namespace frayhold::render
