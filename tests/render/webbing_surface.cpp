// SPDX-License-Identifier: Apache-2.0
#include "render/webbing_surface.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "render/rope_surface.h"
#include "render/srgb.h"

namespace frayhold::render {

double nick_depth_at(const Nick& nick, double s) {
    const double half = nick.length_mm / 2;
    const double deepest = nick.lean * half * 0.8;
    const double at = s - nick.middle_mm;
    if (std::abs(at) >= half) return 0.0;
    return nick.depth_mm * (at < deepest ? (at + half) / (deepest + half) : (half - at) / (half - deepest));
}

WebbingSurface::WebbingSurface(const Webbing& web, const Noise& noise)
    : web_(web),
      noise_(noise),
      pale_base_(paled(web.base, 0.22F)),
      pale_stripe_(paled(web.stripe, 0.22F)),
      half_width_(web.width_mm / 2),
      edge_radius_(web.thickness_mm / 2) {
    if (web.nick) {
        const double steepest =
            web.nick->depth_mm / (web.nick->length_mm / 2 * (1.0 - 0.8 * std::abs(web.nick->lean)));
        nick_step_ = 1.0 / std::sqrt(1.0 + steepest * steepest);
    }
}

Occluder WebbingSurface::occluder(Vec2 bench_point) const {
    const CentreLine::Foot foot = web_.line.foot(bench_point);
    double half = half_width_;
    if (web_.nick && (foot.q > 0.0) == (web_.nick->side > 0)) half -= nick_depth_at(*web_.nick, foot.s);
    const double inner = half - edge_radius_;
    const Vec2 to_axis = (foot.q > 0.0 ? -1.0 : 1.0) * left_of(foot.tangent);
    return {norm(std::max(0.0, std::abs(foot.q) - inner), foot.beyond), edge_radius_, to_axis};
}

void WebbingSurface::weave(double s, double q, Finish& finish, Vec3 along, Vec3 across) const {
    const double rib = web_.rib_mm;
    const double float_mm = 3.4 * rib;
    const double column = q / rib;
    const int warp = floor_int(column);
    const double x = 2.0 * (column - warp) - 1.0;
    // Each warp yarn surfaces for a float; neighbours are set off by a quarter, turning back at the middle.
    const int step = web_.chevron ? std::abs(warp % 16 - 8) : warp;
    const double run = s / float_mm + 0.25 * step;
    const int pick = floor_int(run);
    const double y = 2.0 * (run - pick) - 1.0;
    const double y4 = y * y * y * y;
    const double crown = 1.0 - x * x;
    const double height = crown * (1.0 - 0.9 * y4);

    const double aside = std::abs(q);
    const bool striped = aside < half_width_ - web_.stripe_inset_mm &&
                         aside > half_width_ - web_.stripe_inset_mm - web_.stripe_width_mm;
    const Colour yarn = striped ? web_.stripe : web_.base;
    const Colour pale = striped ? pale_stripe_ : pale_base_;
    const auto key = static_cast<std::uint32_t>(warp + 512);
    const float streak = noise_.grain.at(static_cast<float>(x) * 2.3F + 13.F * static_cast<float>(warp),
                                         static_cast<float>(s) * 0.9F);
    const float patch = noise_.lumps.at(static_cast<float>(s) * 0.05F, static_cast<float>(q) * 0.09F);
    const auto groove = static_cast<float>(clamp01(0.45 + 0.65 * std::sqrt(std::max(height, 0.0))));
    const float tone =
        groove * (1.F + 0.09F * streak + 0.04F * patch + 0.07F * (2.F * hash01(key, 5U) - 1.F) * 0.7F);
    finish.albedo = tone * yarn;
    if (web_.soil > 0.0) {
        const float dirt =
            static_cast<float>(web_.soil) * clamp01(0.5F + 0.5F * patch + 0.4F * (1.F - groove));
        finish.albedo = mix(finish.albedo, Colour{0.12F, 0.105F, 0.085F}, dirt);
    }
    if (web_.fluffed) {
        const double near = within(*web_.fluffed, s) *
                            smooth_step(half_width_ - 4.0, half_width_ - 0.5, q * web_.fluffed_side);
        const float fuzz =
            1.F + 0.18F * noise_.grain.at(static_cast<float>(s) * 4.F, static_cast<float>(q) * 4.F);
        finish.albedo = mix(finish.albedo, fuzz * pale, 0.7F * static_cast<float>(near));
    }
    if (web_.nick && (q > 0.0) == (web_.nick->side > 0)) {
        // The cut faces show broken yarn ends.
        const double into = half_width_ - nick_depth_at(*web_.nick, s) - aside;
        if (nick_depth_at(*web_.nick, s) > 0.0 && into < 0.9) {
            const float fuzz =
                1.F + 0.25F * noise_.grain.at(static_cast<float>(s) * 5.F, static_cast<float>(q) * 5.F);
            finish.albedo = mix(finish.albedo, fuzz * pale, 0.6F);
        }
    }
    const double slope_across = 0.62 * (-2.0 * x) * (1.0 - 0.9 * y4) / 1.0;
    const double slope_along = 0.30 * crown * (-3.6 * y * y * y);
    finish.normal = unit(finish.normal - (slope_across + 0.05 * static_cast<double>(streak)) * across -
                         slope_along * along);
    finish.gloss = 0.05F;
    finish.polish = 12;
}

bool WebbingSurface::stitched(double s, double q, Finish& finish, Vec3 along, Vec3 across) const {
    constexpr double half_thread = 0.36;
    for (const StitchRow& row : web_.rows) {
        const double from_middle = row.across ? q - row.offset_mm : s - row.middle_mm;
        const double aside = row.across ? s - row.middle_mm : q - row.offset_mm;
        const double run = from_middle + row.length_mm / 2;
        if (run < 0.0 || run > row.length_mm || std::abs(aside) > row.amplitude_mm + 2.0 * half_thread)
            continue;
        const double period = run / row.period_mm;
        const double phase = period - floor_int(period);
        const double swing = row.amplitude_mm * (phase < 0.5 ? 4.0 * phase - 1.0 : 3.0 - 4.0 * phase);
        const double slope = 4.0 * row.amplitude_mm / row.period_mm * (phase < 0.5 ? 1.0 : -1.0);
        const double off = (aside - swing) / std::sqrt(1.0 + slope * slope);
        bool missing = false;
        for (const double gap : row.gaps_mm) missing = missing || std::abs(run - gap) < row.gap_length_mm / 2;
        const double hole_x = std::min(phase, std::abs(phase - 0.5)) * row.period_mm;
        const double hole_y = std::abs(std::abs(aside) - row.amplitude_mm);
        if (missing) {
            // Needle holes stay open where the thread has gone.
            if (hole_x * hole_x + hole_y * hole_y > 0.16) continue;
            finish.albedo = 0.25F * finish.albedo;
            return true;
        }
        if (std::abs(off) > half_thread) {
            if (std::abs(off) < half_thread + 0.25) finish.albedo = 0.72F * finish.albedo;
            continue;
        }
        const double x = off / half_thread;
        const Vec3 row_along = row.across ? across : along;
        const Vec3 row_aside = row.across ? along : across;
        const Vec3 side = unit(row_aside - slope * row_along);
        const double ply =
            std::sin(2.0 * std::numbers::pi * (run * std::sqrt(1.0 + slope * slope) / 0.9 + 0.35 * x));
        const double ends = smooth_step(0.0, 0.45, hole_y);
        finish.normal = unit(Vec3{0, 0, 1} + (0.8 * x) * side);
        finish.albedo =
            static_cast<float>((0.62 + 0.38 * (1.0 - x * x)) * (1.0 + 0.07 * ply) * (0.6 + 0.4 * ends)) *
            web_.thread;
        finish.gloss = 0.10F;
        finish.polish = 24;
        return true;
    }
    return false;
}

Vec3 WebbingSurface::outward(const Hit& hit) const {
    const Vec2 left = left_of(hit.foot.tangent);
    double half = half_width_;
    if (web_.nick && (hit.foot.q > 0.0) == (web_.nick->side > 0))
        half -= nick_depth_at(*web_.nick, hit.foot.s);
    const double out =
        std::max(std::abs(hit.foot.q) - (half - edge_radius_), 0.0) * (hit.foot.q > 0.0 ? 1.0 : -1.0);
    return unit({out * left.x, out * left.y, hit.point.z - edge_radius_});
}

Finish WebbingSurface::finish(const Hit& hit) const {
    const Vec2 left = left_of(hit.foot.tangent);
    const Vec3 along{hit.foot.tangent.x, hit.foot.tangent.y, 0.0};
    const Vec3 across{left.x, left.y, 0.0};
    Finish finish;
    finish.normal = outward(hit);
    weave(hit.foot.s, hit.foot.q, finish, along, across);
    stitched(hit.foot.s, hit.foot.q, finish, along, across);
    if (hit.foot.beyond > 0.0) finish.albedo = 0.4F * web_.base;
    return finish;
}

}  // namespace frayhold::render
