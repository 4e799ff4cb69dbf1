// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/scene.h"
#include "render/surface.h"

namespace frayhold::render {

// How far a nick reaches in from the edge at arc length s: straight from both ends to its deepest point.
[[nodiscard]] double nick_depth_at(const Nick& nick, double s);

// Flat webbing lying on the bench: a band with rounded edges about the centre line.
class WebbingSurface {
  public:
    WebbingSurface(const Webbing& web, const Noise& noise);

    [[nodiscard]] double distance(Vec3 point, CentreLine::Foot& foot) const {
        foot = web_.line.foot(plan(point));
        double half = half_width_;
        double safe = 1.0;
        if (web_.nick && (foot.q > 0.0) == (web_.nick->side > 0)) {
            half -= nick_depth_at(*web_.nick, foot.s);
            if (std::abs(foot.s - web_.nick->middle_mm) < web_.nick->length_mm) safe = nick_step_;
        }
        const double out = std::max(std::abs(foot.q) - (half - edge_radius_), 0.0);
        const double across = foot.beyond == 0.0 ? out : norm(out, foot.beyond);
        return safe * (norm(across, point.z - edge_radius_) - edge_radius_);
    }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    // The unit normal of the smooth surface under the weave.
    [[nodiscard]] Vec3 outward(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const;
    // Webbing lies straight: there is nothing to leave out.
    [[nodiscard]] const WebbingSurface& around(Vec2, double) const { return *this; }
    static constexpr bool fine_texture = true;
    static constexpr double touch_mm = 0.002;
    [[nodiscard]] double top_mm() const { return web_.thickness_mm; }
    [[nodiscard]] double reach_mm() const { return half_width_; }

  private:
    void weave(double s, double q, Finish& finish, Vec3 along, Vec3 across) const;
    bool stitched(double s, double q, Finish& finish, Vec3 along, Vec3 across) const;

    const Webbing& web_;
    const Noise& noise_;
    Colour pale_base_, pale_stripe_;
    double half_width_;
    double edge_radius_;
    double nick_step_ = 1.0;
};

}  // namespace frayhold::render
