// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <utility>
#include <vector>

#include "render/flat_picture.h"
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

    [[nodiscard]] double distance(Vec3 point, const CentreLine& line, CentreLine::Foot& foot) const {
        foot = line.foot(plan(point));
        const double across = foot.beyond == 0.0 ? std::abs(foot.q) : norm(foot.q, foot.beyond);
        if (!rope_.flattened) return norm(across, point.z - radius_) - radius_;
        const double a = half_width(foot.s);
        const double b = half_height(foot.s);
        return (norm(across / a, (point.z - b) / b) - 1.0) * b * 0.95;
    }
    [[nodiscard]] double distance(Vec3 point, CentreLine::Foot& foot) const {
        return distance(point, rope_.line, foot);
    }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    // The unit normal of the smooth surface under the braid.
    [[nodiscard]] Vec3 outward(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const { return occluder(bench_point, rope_.line); }
    [[nodiscard]] Occluder occluder(Vec2 bench_point, const CentreLine& line) const;
    [[nodiscard]] double top_mm() const { return 2.0 * radius_; }
    [[nodiscard]] double reach_mm() const { return widest_; }
    [[nodiscard]] bool in_core(double s, double angle) const {
        return rope_.core && core_depth(s, angle) > 0.0;
    }

    // The rope as seen by rays that stay near one place: the same surface, looked up among fewer pieces.
    class Part {
      public:
        Part(const RopeSurface& whole, CentreLine line) : whole_(whole), line_(std::move(line)) {}
        [[nodiscard]] double distance(Vec3 point, CentreLine::Foot& foot) const {
            return whole_.distance(point, line_, foot);
        }
        [[nodiscard]] Finish finish(const Hit& hit) const { return whole_.finish(hit); }
        [[nodiscard]] Vec3 outward(const Hit& hit) const { return whole_.outward(hit); }
        [[nodiscard]] Occluder occluder(Vec2 bench_point) const {
            return whole_.occluder(bench_point, line_);
        }
        [[nodiscard]] double top_mm() const { return whole_.top_mm(); }
        static constexpr bool fine_texture = true;
        static constexpr double touch_mm = 0.002;
        static constexpr int most_steps = 80;

      private:
        const RopeSurface& whole_;
        CentreLine line_;
    };
    [[nodiscard]] Part around(Vec2 middle, double reach) const {
        return {*this, rope_.line.part_near(middle, reach)};
    }

  private:
    // The core window's depth inside its rim, in its own polar frame: 0 at the rim, positive inside.
    [[nodiscard]] double core_depth(double s, double angle) const;
    bool sleeve(double s, double angle, Finish& finish) const;
    void braid(double s, double angle, Finish& finish, Vec3 along, Vec3 around) const;

    const Rope& rope_;
    const Noise& noise_;
    double radius_;
    double widest_;
    std::array<std::vector<Colour>, 2> yarn_colours_, pale_colours_;
    std::optional<FlatPicture> label_;
    std::array<double, 12> rim_size_{};
    std::array<double, 12> rim_phase_{};
};

}  // namespace frayhold::render
