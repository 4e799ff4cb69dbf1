// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/scene.h"
#include "render/surface.h"

namespace frayhold::render {

// Rounded bars melted into one another.
class SolidSurface {
  public:
    SolidSurface(const Solid& solid, const Noise& noise);

    [[nodiscard]] double distance(Vec3 point) const;
    [[nodiscard]] double distance(Vec3 point, CentreLine::Foot&) const { return distance(point); }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const;
    [[nodiscard]] double top_mm() const { return top_; }
    [[nodiscard]] double reach_mm() const { return 0.5 * top_; }

  private:
    const Solid& solid_;
    const Noise& noise_;
    double top_ = 0.0;
};

}  // namespace frayhold::render
