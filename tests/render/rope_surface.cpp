// SPDX-License-Identifier: Apache-2.0
#include "render/rope_surface.h"

#include <cmath>
#include <numbers>

#include "render/random.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

constexpr double full_turn = 2.0 * std::numbers::pi;
constexpr double label_turn =
    2.1;  // radians of the girth that the print takes, the rest of the sleeve is plain

}  // namespace

double within(const Stretch& stretch, double s) {
    return 1.0 - smooth_step(stretch.half_length_mm - stretch.edge_mm,
                             stretch.half_length_mm + stretch.edge_mm, std::abs(s - stretch.middle_mm));
}

RopeSurface::RopeSurface(const Rope& rope, const Noise& noise)
    : rope_(rope), noise_(noise), radius_(rope.diameter_mm / 2), widest_(radius_) {
    if (rope.flattened) widest_ = radius_ * (1.0 + rope.flattened_share);
    for (auto& way : yarn_colours_) way.assign(static_cast<std::size_t>(rope.yarns_a_way), rope.sheath);
    for (const Tracer& tracer : rope.tracers)
        yarn_colours_.at(static_cast<std::size_t>(tracer.way)).at(static_cast<std::size_t>(tracer.yarn)) =
            tracer.colour;
    pale_colours_ = yarn_colours_;
    for (auto& way : pale_colours_)
        for (Colour& colour : way) colour = paled(colour, 0.22F);
    if (rope.sleeve) {
        Flat print;
        print.sort = Flat::Sort::label;
        print.width_mm = 2.0 * rope.sleeve->half_length_mm;
        print.height_mm = label_turn * radius_;
        print.paper = rope.sleeve->paper;
        print.ink = rope.sleeve->ink;
        print.lines = rope.sleeve->lines;
        label_.emplace(print);
    }
    if (rope.core) {
        Random random(rope.core->edge_seed);
        for (std::size_t k = 0; k < rim_size_.size(); ++k) {
            rim_size_[k] = k < 2 ? 0.0 : 0.16 * random.normal() / std::sqrt(static_cast<double>(k));
            rim_phase_[k] = random.uniform(0.0, full_turn);
        }
    }
}

double RopeSurface::half_width(double s) const {
    if (!rope_.flattened) return radius_;
    return radius_ * (1.0 + rope_.flattened_share * within(*rope_.flattened, s));
}

double RopeSurface::half_height(double s) const {
    if (!rope_.flattened) return radius_;
    // A squashed sheath keeps its girth: what the width gains the height loses, to first order.
    return radius_ * (1.0 - rope_.flattened_share * within(*rope_.flattened, s));
}

double RopeSurface::core_depth(double s, double angle) const {
    const CoreWindow& window = *rope_.core;
    double turn = angle - window.middle_angle;
    turn -= full_turn * std::round(turn / full_turn);
    const double u = (s - window.middle_mm) / window.half_length_mm;
    const double v = turn / window.half_angle;
    const double r2 = u * u + v * v;
    if (r2 > 4.0) return -1.0;
    const double theta = std::atan2(v, u);
    double rim = 1.0;
    for (std::size_t k = 2; k < rim_size_.size(); ++k)
        rim += rim_size_[k] * std::cos(static_cast<double>(k) * theta + rim_phase_[k]);
    return std::max(rim, 0.3) - std::sqrt(r2);
}

Occluder RopeSurface::occluder(Vec2 bench_point, const CentreLine& line) const {
    const CentreLine::Foot foot = line.foot(bench_point);
    const Vec2 to_axis = (-foot.q) * left_of(foot.tangent);
    const double distance = norm(foot.q, foot.beyond);
    return {distance, radius_,
            distance > 0.0 ? (1.0 / std::max(std::abs(foot.q), 1e-9)) * to_axis : Vec2{1, 0}};
}

bool RopeSurface::sleeve(double s, double angle, Finish& finish) const {
    if (!rope_.sleeve) return false;
    const double x = s - (rope_.sleeve->middle_mm - rope_.sleeve->half_length_mm);
    if (x < 0.0 || x > 2.0 * rope_.sleeve->half_length_mm) return false;
    const double y = (label_turn / 2 - angle) * radius_;
    finish.albedo = y >= 0.0 && y <= label_turn * radius_ ? label_->at({x, y}) : rope_.sleeve->paper;
    // Clear film over it, a little wavy.
    const float wave = noise_.lumps.at(static_cast<float>(s) * 0.3F, static_cast<float>(angle) * 1.5F);
    finish.gloss = 0.22F + 0.05F * wave;
    finish.polish = 40;
    return true;
}

void RopeSurface::braid(double s, double angle, Finish& finish, Vec3 along, Vec3 around) const {
    const double n = rope_.yarns_a_way;
    const double a = n * angle / full_turn;
    const double b = n * s / rope_.pitch_mm;
    const double u = a + b;
    const double v = a - b;
    const int iu = floor_int(u);
    const int iv = floor_int(v);
    const double fu = u - iu;
    const double fv = v - iv;
    const int span = rope_.float_cells;
    const int phase = ((iu + iv) % (2 * span) + 2 * span) % (2 * span);
    const bool first_on_top = phase < span;
    // Across the yarn on top, -1 .. 1, and along its float, -1 .. 1.
    const double x = first_on_top ? 2.0 * fu - 1.0 : 2.0 * fv - 1.0;
    const double y = 2.0 * ((phase % span) + (first_on_top ? fv : fu)) / span - 1.0;
    const int yarns = rope_.yarns_a_way;
    const int yarn = (((first_on_top ? iu : iv) % yarns) + yarns) % yarns;
    const auto way = static_cast<std::size_t>(first_on_top ? 0 : 1);

    // Height over the mean surface: round across, dipping under the neighbours at both ends of the float.
    const double x2 = x * x;
    const double y2 = y * y;
    const double crown = 1.0 - x2;
    const double dip = 1.0 - 0.75 * y2 * y2;
    const double height = crown * dip;
    double fluff = 0.0;
    if (rope_.fluffed) {
        const double turn = std::cos(angle - rope_.fluffed_angle);
        fluff = within(*rope_.fluffed, s) * clamp01(0.75 + 0.6 * turn);
    }
    const double relief =
        0.30 * (1.0 - 0.75 * fluff);  // slope scale, not a true relief: the outline stays round
    const double slope_x = relief * (-2.0 * x) * dip * 2.0;
    const double slope_y = relief * crown * (-3.0 * y2 * y) * (2.0 / span);
    const double du = first_on_top ? slope_x : slope_y;
    const double dv = first_on_top ? slope_y : slope_x;
    const double cell_around = full_turn * radius_ / n;
    const double cell_along = rope_.pitch_mm / n;
    const double slope_around = (du + dv) / cell_around;
    const double slope_along = (du - dv) / cell_along;

    // Filaments: fine streaks along the yarn.
    const auto key = static_cast<std::uint32_t>(yarn + 100 * static_cast<int>(way));
    const float lane =
        static_cast<float>(x) * 4.2F + 17.F * static_cast<float>(yarn) + 5.3F * static_cast<float>(phase);
    const float run = static_cast<float>(first_on_top ? v : u) * 1.1F + 31.F * hash01(key, 3);
    const float streak = noise_.grain.at(lane, run);
    const float patch = noise_.lumps.at(static_cast<float>(s) * 0.11F, static_cast<float>(angle) * 1.3F);

    const float groove = static_cast<float>(clamp01(0.42 + 0.75 * std::sqrt(std::max(height, 0.0))));
    const float tone = 1.F + 0.10F * streak + 0.04F * patch + 0.05F * (2.F * hash01(key, 7) - 1.F);
    const Colour yarn_colour = yarn_colours_[way][static_cast<std::size_t>(yarn)];
    Colour albedo = (tone * (groove + (1.F - groove) * 0.55F * static_cast<float>(fluff))) * yarn_colour;
    if (rope_.soil > 0.0) {
        const float dirt = static_cast<float>(rope_.soil) *
                           clamp01(0.55F +
                                   0.35F * noise_.lumps.at(static_cast<float>(s) * 0.05F + 9.F,
                                                           static_cast<float>(angle) * 0.6F) +
                                   0.3F * (1.F - groove));
        albedo = mix(albedo, Colour{0.11F, 0.095F, 0.075F}, dirt);
    }
    if (fluff > 0.0) {
        const float fuzz =
            noise_.grain.at(static_cast<float>(s) * 4.F, static_cast<float>(angle * radius_) * 4.F) +
            noise_.lumps.at(static_cast<float>(s) * 1.3F, static_cast<float>(angle * radius_) * 1.1F);
        const Colour pale = pale_colours_[way][static_cast<std::size_t>(yarn)];
        albedo = mix(albedo, (1.F + 0.16F * fuzz) * pale, 0.75F * static_cast<float>(fluff));
    }
    finish.albedo = albedo;
    double side_streak = 0.035 * static_cast<double>(streak);
    finish.gloss = 0.05F * (1.F - static_cast<float>(fluff));
    finish.polish = 14;
    double smoothing = 1.0;
    if (rope_.glazed) {
        const double glaze = within(*rope_.glazed, s) * clamp01(1.25 * std::cos(angle) + 0.1);
        const float g = static_cast<float>(glaze);
        finish.albedo = mix(finish.albedo, 0.55F * yarn_colour, 0.75F * g);
        finish.gloss += g * (0.55F + 0.15F * patch);
        finish.polish = g > 0.3F ? 64 : 14;
        smoothing = 1.0 - 0.82 * glaze;
        side_streak *= 1.0 - glaze;
    }
    finish.normal = unit(finish.normal - (smoothing * slope_along + side_streak) * along -
                         (smoothing * slope_around + side_streak) * around);
}

Vec3 RopeSurface::outward(const Hit& hit) const {
    const double a = half_width(hit.foot.s);
    const double b = half_height(hit.foot.s);
    const Vec2 left = left_of(hit.foot.tangent);
    const double across = hit.foot.q / (a * a);
    return unit({across * left.x, across * left.y, (hit.point.z - b) / (b * b)});
}

Finish RopeSurface::finish(const Hit& hit) const {
    const double a = half_width(hit.foot.s);
    const double b = half_height(hit.foot.s);
    const double q = hit.foot.q;
    const double up = hit.point.z - b;
    Finish finish;
    finish.normal = outward(hit);
    const double angle = std::atan2(q / a, up / b);
    const Vec3 along{hit.foot.tangent.x, hit.foot.tangent.y, 0.0};
    const Vec3 around = cross(finish.normal, along);

    const double depth = rope_.core ? core_depth(hit.foot.s, angle) : -1.0;
    if (sleeve(hit.foot.s, angle, finish)) {
        return finish;
    }
    if (depth <= 0.0) {
        braid(hit.foot.s, angle, finish, along, around);
        if (depth > -0.25) {
            // The cut sheath's rim: ends of yarns, paler and rough.
            const float rim = static_cast<float>(1.0 + depth / 0.25);
            finish.albedo = (1.F - 0.25F * rim) * finish.albedo;
        }
    } else {
        // Core: bundles that run along the rope with a long twist of their own.
        constexpr double bundles = 11.0;
        const double lay = bundles * (angle / full_turn + hit.foot.s / 260.0);
        const int bundle = floor_int(lay);
        const double x = 2.0 * (lay - bundle) - 1.0;
        const double ply = hit.foot.s / 3.1 + 0.9 * x +
                           3.0 * static_cast<double>(hash01(static_cast<std::uint32_t>(bundle + 64), 1));
        const double twist = std::sin(full_turn * ply);
        const float streak = noise_.grain.at(static_cast<float>(x) * 3.F + static_cast<float>(bundle) * 11.F +
                                                 static_cast<float>(hit.foot.s) * 0.8F,
                                             static_cast<float>(hit.foot.s) * 0.5F);
        const double groove = std::sqrt(std::max(0.0, 1.0 - x * x * x * x));
        const double rim_shade = smooth_step(0.0, 0.22, depth);
        const double tone = (0.45 + 0.55 * groove) * (1.0 + 0.06 * twist) * (0.55 + 0.45 * rim_shade);
        finish.albedo = (static_cast<float>(tone) * (1.F + 0.04F * streak)) * rope_.core->core;
        finish.normal = unit(finish.normal + (0.55 * x) * around + (0.18 * twist) * along);
        finish.gloss = 0.04F;
    }
    if (hit.foot.beyond > 0.0) {
        // A melted end: a dark, smooth cap.
        const Vec2 centre = rope_.line.at(hit.foot.s);
        const Vec2 out = plan(hit.point) - centre;
        finish.normal = unit(Vec3{out.x, out.y, up});
        finish.albedo = 0.35F * rope_.sheath;
        finish.gloss = 0.3F;
        finish.polish = 40;
    }
    return finish;
}

}  // namespace frayhold::render
