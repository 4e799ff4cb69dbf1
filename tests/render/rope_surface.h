// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <vector>

#include "render/scene.h"
#include "render/surface.h"

namespace frayhold::render {

// 0 outside the stretch, 1 well inside, faded over its edge.
[[nodiscard]] double within(const Stretch& stretch, double s);

// A kernmantle rope lying on the bench: an elliptic tube about the centre line, round where not flattened.
class RopeSurface {
  public:
    RopeSurface(const Rope& rope, const Noise& noise);

    // Half the width seen from above, and half the height, at arc length s.
    [[nodiscard]] double half_width(double s) const;
    [[nodiscard]] double half_height(double s) const;

    [[nodiscard]] double distance(Vec3 point, CentreLine::Foot& foot) const {
        foot = rope_.line.foot(plan(point));
        const double across = foot.beyond == 0.0 ? std::abs(foot.q) : std::hypot(foot.q, foot.beyond);
        if (!rope_.flattened) return std::hypot(across, point.z - radius_) - radius_;
        const double a = half_width(foot.s);
        const double b = half_height(foot.s);
        return (std::hypot(across / a, (point.z - b) / b) - 1.0) * b * 0.95;
    }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const;
    [[nodiscard]] double top_mm() const { return 2.0 * radius_; }
    [[nodiscard]] double reach_mm() const { return widest_; }
    // The core window's rim in its own polar frame: inside where below 1.
    [[nodiscard]] bool in_core(double s, double angle) const { return rope_.core && core_depth(s, angle) > 0.0; }

  private:
    [[nodiscard]] double core_depth(double s, double angle) const;
    void braid(double s, double angle, Finish& finish, Vec3 along, Vec3 around) const;

    const Rope& rope_;
    const Noise& noise_;
    double radius_;
    double widest_;
    std::array<std::vector<Colour>, 2> yarn_colours_;
    std::array<double, 12> rim_size_{};
    std::array<double, 12> rim_phase_{};
};

}  // namespace frayhold::render
