// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/scene.h"

namespace frayhold::render {

// The thin shadow that loose fibres cast on the bench: the share of the key light let through, on a plan
// grid.
class HairShade {
  public:
    HairShade(const std::vector<Hair>& hairs, const Light& light);

    [[nodiscard]] bool empty() const { return through_.empty(); }
    [[nodiscard]] float at(Vec2 p) const {
        const double gx = (p.x - left_) / cell_mm;
        const double gy = (p.y - low_) / cell_mm;
        if (gx < 0.0 || gy < 0.0 || gx >= columns_ - 1 || gy >= rows_ - 1) return 1.F;
        const int ix = static_cast<int>(gx);
        const int iy = static_cast<int>(gy);
        const auto fx = static_cast<float>(gx - ix);
        const auto fy = static_cast<float>(gy - iy);
        const float* top = through_.data() + static_cast<std::ptrdiff_t>(iy) * columns_ + ix;
        const float* low = top + columns_;
        const float a = top[0] + fx * (top[1] - top[0]);
        const float b = low[0] + fx * (low[1] - low[0]);
        return a + fy * (b - a);
    }

  private:
    static constexpr double cell_mm = 0.2;
    double left_ = 0.0, low_ = 0.0;
    int columns_ = 0, rows_ = 0;
    std::vector<float> through_;
};

}  // namespace frayhold::render
