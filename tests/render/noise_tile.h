// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <vector>

#include "render/vec.h"

namespace frayhold::render {

// Periodic noise in a square tile, read by interpolation: far cheaper a look-up than computing gradient noise.
// Values have mean 0 and standard deviation 1.
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
        const float* row0 = values_.data() + static_cast<std::size_t>(iy & mask) * side;
        const float* row1 = values_.data() + static_cast<std::size_t>((iy + 1) & mask) * side;
        const int x0 = ix & mask;
        const int x1 = (ix + 1) & mask;
        const float top = row0[x0] + fx * (row0[x1] - row0[x0]);
        const float low = row1[x0] + fx * (row1[x1] - row1[x0]);
        return top + fy * (low - top);
    }

    static constexpr int side = 256;

  private:
    static constexpr int mask = side - 1;
    float feature_ = 1.F;
    std::vector<float> values_;
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

}  // namespace frayhold::render
