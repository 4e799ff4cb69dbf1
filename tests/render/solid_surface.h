// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/scene.h"
#include "render/surface.h"

namespace frayhold::render {

// Rounded bars melted into one another.
class SolidSurface {
  public:
    SolidSurface(const Solid& solid, const Noise& noise);

    // Only the bars that matter within `reach` of a bench point.
    [[nodiscard]] SolidSurface around(Vec2 middle, double reach) const;
    // Only the bars that can be the nearest in plan view for a point within `reach` of `middle`.
    [[nodiscard]] SolidSurface nearest(Vec2 middle, double reach) const;

    [[nodiscard]] double distance(Vec3 point) const;
    [[nodiscard]] double distance(Vec3 point, CentreLine::Foot&) const { return distance(point); }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    [[nodiscard]] Vec3 outward(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const;
    [[nodiscard]] double top_mm() const { return top_; }
    static constexpr bool fine_texture = false;
    static constexpr double touch_mm = 0.02;
    static constexpr int most_steps = 80;
    [[nodiscard]] double reach_mm() const { return 0.5 * top_; }

  private:
    const Solid& solid_;
    const Noise& noise_;
    struct Bar {
        Vec3 a, along;
        double per_length2 = 0.0, per_plan_length2 = 0.0, radius = 0.0;
    };
    [[nodiscard]] static double plan_distance(const Bar& bar, Vec2 p);
    std::vector<Bar> bars_;
    double top_ = 0.0;
};

}  // namespace frayhold::render
