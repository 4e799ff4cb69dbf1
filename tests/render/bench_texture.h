// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/scene.h"
#include "render/surface.h"

namespace frayhold::render {

// The bench's reflectance at a point of it.
class BenchTexture {
  public:
    BenchTexture(const Bench& bench, const Noise& noise);
    [[nodiscard]] Colour at(Vec2 p) const {
        const auto x = static_cast<float>(p.x * axis_.x + p.y * axis_.y + offset_.x);
        const auto y = static_cast<float>(p.y * axis_.x - p.x * axis_.y + offset_.y);
        switch (sort_) {
            case BenchSort::wood:
                return wood(x, y);
            case BenchSort::fleece:
                return fleece(x, y);
            case BenchSort::concrete:
                return concrete(x, y);
            case BenchSort::table:
                break;
        }
        return table(x, y);
    }

  private:
    [[nodiscard]] Colour wood(float x, float y) const;
    [[nodiscard]] Colour fleece(float x, float y) const;
    [[nodiscard]] Colour concrete(float x, float y) const;
    [[nodiscard]] Colour table(float x, float y) const;

    const Noise& noise_;
    BenchSort sort_;
    Vec2 axis_, offset_;
    float scale_;
    Colour light_, dark_;
};

}  // namespace frayhold::render
