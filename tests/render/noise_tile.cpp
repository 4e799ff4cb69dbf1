// SPDX-License-Identifier: Apache-2.0
#include "render/noise_tile.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "render/random.h"
#include "render/surface.h"

namespace frayhold::render {
namespace {

// Uniform cubic B-spline weights: smooth in value and slope.
std::array<double, 4> spline_weights(double t) {
    return {(1 - t) * (1 - t) * (1 - t) / 6, (3 * t * t * t - 6 * t * t + 4) / 6,
            (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6, t * t * t / 6};
}

}  // namespace

NoiseTile::NoiseTile(std::uint64_t seed, int feature_px)
    : feature_(static_cast<float>(feature_px)), values_(static_cast<std::size_t>(side) * side) {
    Random random(seed);
    const int lattice = side / feature_px;
    std::vector<double> knots(static_cast<std::size_t>(lattice) * static_cast<std::size_t>(lattice));
    for (double& knot : knots) knot = random.normal();
    std::vector<double> tile(values_.size());
    if (feature_px == 1) {
        tile = knots;
    } else {
        const auto knot = [&](int x, int y) {
            return knots[static_cast<std::size_t>((y + lattice) % lattice) *
                             static_cast<std::size_t>(lattice) +
                         static_cast<std::size_t>((x + lattice) % lattice)];
        };
        for (int y = 0; y < side; ++y) {
            const auto wy = spline_weights(static_cast<double>(y % feature_px) / feature_px);
            for (int x = 0; x < side; ++x) {
                const auto wx = spline_weights(static_cast<double>(x % feature_px) / feature_px);
                double value = 0.0;
                for (int j = 0; j < 4; ++j)
                    for (int i = 0; i < 4; ++i)
                        value += wx.at(static_cast<std::size_t>(i)) * wy.at(static_cast<std::size_t>(j)) *
                                 knot(x / feature_px + i - 1, y / feature_px + j - 1);
                tile[static_cast<std::size_t>(y) * side + static_cast<std::size_t>(x)] = value;
            }
        }
    }
    double sum = 0.0;
    double squares = 0.0;
    for (const double value : tile) {
        sum += value;
        squares += value * value;
    }
    const double n = static_cast<double>(tile.size());
    const double mean = sum / n;
    const double scale = static_cast<double>(steps) / std::sqrt(squares / n - mean * mean);
    for (std::size_t i = 0; i < tile.size(); ++i)
        values_[i] =
            static_cast<std::int16_t>(std::lround(std::clamp((tile[i] - mean) * scale, -32767.0, 32767.0)));
}

const Noise& shared_noise() {
    static const Noise noise;
    return noise;
}

}  // namespace frayhold::render
