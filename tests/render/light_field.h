// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/camera_view.h"
#include "render/scene.h"

namespace frayhold::render {

// Everything about the light that changes slowly over the picture, on a coarse grid of pixels: key light with
// its fall-off and shadow bands, ambient light, the lens's vignetting, the bench's sheen.
class LightField {
  public:
    LightField(const Scene& scene, const Projection& projection);

    struct Here {
        float key = 0.F, ambient = 0.F, sheen = 0.F;
    };
    static constexpr int step_px = 16;

    // The values along one row of pixels from x = column * step_px: at its start, and the change from pixel
    // to pixel.
    struct Run {
        Here start, step;
    };
    [[nodiscard]] Run run(int column, int y) const {
        const Here from = at(column * step_px, y);
        const Here to = at((column + 1) * step_px, y);
        const auto slope = [](float a, float b) { return (b - a) / static_cast<float>(step_px); };
        return {from,
                {slope(from.key, to.key), slope(from.ambient, to.ambient), slope(from.sheen, to.sheen)}};
    }
    [[nodiscard]] Here at(double px, double py) const {
        const double gx = px / step_px;
        const double gy = py / step_px;
        const int ix = static_cast<int>(gx);
        const int iy = static_cast<int>(gy);
        const auto fx = static_cast<float>(gx - ix);
        const auto fy = static_cast<float>(gy - iy);
        const Here* top = nodes_.data() + static_cast<std::size_t>(iy * columns_ + ix);
        const Here* low = top + columns_;
        const auto blend = [&](float Here::*field) {
            const float a = top[0].*field + fx * (top[1].*field - top[0].*field);
            const float b = low[0].*field + fx * (low[1].*field - low[0].*field);
            return a + fy * (b - a);
        };
        return {blend(&Here::key), blend(&Here::ambient), blend(&Here::sheen)};
    }

  private:
    int columns_ = 0;
    std::vector<Here> nodes_;
};

}  // namespace frayhold::render
