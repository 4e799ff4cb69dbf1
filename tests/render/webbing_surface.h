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
        const auto to_band = [&](double half) {
            const double out = std::max(std::abs(foot.q) - (half - edge_radius_), 0.0);
            const double across = foot.beyond == 0.0 ? out : norm(out, foot.beyond);
            return norm(across, point.z - edge_radius_) - edge_radius_;
        };
        const double whole = to_band(half_width_);
        if (!web_.nick || (foot.q > 0.0) != (web_.nick->side > 0)) return whole;
        const double cut = to_band(half_width_ - nick_depth_at(*web_.nick, foot.s));
        // Across the edge of a cut, which slants, the way is longer than the distance; and no point of the
        // cut webbing is nearer than the whole.
        const bool near_nick = std::abs(foot.s - web_.nick->middle_mm) < web_.nick->length_mm;
        return std::max(whole, near_nick ? nick_step_ * cut : cut);
    }
    [[nodiscard]] Finish finish(const Hit& hit) const;
    // The unit normal of the smooth surface under the weave.
    [[nodiscard]] Vec3 outward(const Hit& hit) const;
    [[nodiscard]] Occluder occluder(Vec2 bench_point) const;
    // Webbing lies straight: there is nothing to leave out.
    [[nodiscard]] const WebbingSurface& around(Vec2, double) const { return *this; }
    static constexpr bool fine_texture = true;
    static constexpr double touch_mm = 0.002;
    static constexpr int most_steps = 400;  // within a narrow cut they are short
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
