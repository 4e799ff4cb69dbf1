// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <vector>

#include "render/vec.h"

namespace frayhold::render {

// Periodic noise in a square tile, read by interpolation: far cheaper a look-up than computing gradient
// noise. Values have mean 0 and standard deviation 1.
class NoiseTile {
  public:
    // `feature_px`: size of one lump in tile pixels; 1 gives white noise.
    NoiseTile(std::uint64_t seed, int feature_px);

    // x, y in lumps.
    [[nodiscard]] float at(float x, float y) const {
        x *= feature_;
        y *= feature_;
        const int ix = floor_int(x);
        const int iy = floor_int(y);
        const float fx = x - static_cast<float>(ix);
        const float fy = y - static_cast<float>(iy);
        const std::int16_t* row0 = values_.data() + static_cast<std::size_t>(iy & mask) * side;
        const std::int16_t* row1 = values_.data() + static_cast<std::size_t>((iy + 1) & mask) * side;
        const int x0 = ix & mask;
        const int x1 = (ix + 1) & mask;
        const auto a = static_cast<float>(row0[x0]);
        const auto b = static_cast<float>(row0[x1]);
        const auto c = static_cast<float>(row1[x0]);
        const auto d = static_cast<float>(row1[x1]);
        const float top = a + fx * (b - a);
        const float low = c + fx * (d - c);
        return (top + fy * (low - top)) * (1.F / steps);
    }

  private:
    static constexpr int side = 512;
    static constexpr int mask = side - 1;
    static constexpr float steps = 4096.F;  // of one standard deviation
    float feature_ = 1.F;
    std::vector<std::int16_t> values_;
};

// A number in [0, 1) that depends on i and salt only.
[[nodiscard]] constexpr float hash01(std::uint32_t i, std::uint32_t salt) {
    std::uint32_t h = i * 0x9E3779B1U + salt * 0x85EBCA77U;
    h ^= h >> 16;
    h *= 0x7FEB352DU;
    h ^= h >> 15;
    h *= 0x846CA68BU;
    h ^= h >> 16;
    return static_cast<float>(h >> 8) * 0x1p-24F;
}
// The same for a cell of the plane.
[[nodiscard]] constexpr float hash01(int x, int y, std::uint32_t salt) {
    return hash01(static_cast<std::uint32_t>(x) * 73856093U ^ static_cast<std::uint32_t>(y) * 19349663U,
                  salt);
}

}  // namespace frayhold::render
