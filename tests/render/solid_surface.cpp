// SPDX-License-Identifier: Apache-2.0
#include "render/solid_surface.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace frayhold::render {
SolidSurface::SolidSurface(const Solid& solid, const Noise& noise) : solid_(solid), noise_(noise) {
    for (const Solid::Bar& given : solid.bars) {
        Bar bar;
        bar.a = given.a;
        bar.along = given.b - given.a;
        bar.per_length2 = 1.0 / std::max(dot(bar.along, bar.along), 1e-9);
        bar.per_plan_length2 = 1.0 / std::max(dot(plan(bar.along), plan(bar.along)), 1e-9);
        bar.radius = given.radius_mm;
        bars_.push_back(bar);
        top_ = std::max({top_, given.a.z + given.radius_mm, given.b.z + given.radius_mm});
    }
}

double SolidSurface::plan_distance(const Bar& bar, Vec2 p) {
    const Vec2 d = p - plan(bar.a);
    const double t = clamp01(dot(d, plan(bar.along)) * bar.per_plan_length2);
    return length(d - t * plan(bar.along)) - bar.radius;
}

SolidSurface SolidSurface::around(Vec2 middle, double reach) const {
    SolidSurface part = *this;
    std::erase_if(part.bars_,
                  [&](const Bar& bar) { return plan_distance(bar, middle) > reach + 2.0 * solid_.blend_mm; });
    return part;
}

SolidSurface SolidSurface::nearest(Vec2 middle, double reach) const {
    double least = 1e9;
    for (const Bar& bar : bars_) least = std::min(least, plan_distance(bar, middle));
    SolidSurface part = *this;
    std::erase_if(part.bars_,
                  [&](const Bar& bar) { return plan_distance(bar, middle) > least + 2.0 * reach; });
    return part;
}

double SolidSurface::distance(Vec3 point) const {
    double least = 1e9;
    for (const Bar& bar : bars_) {
        const Vec3 d = point - bar.a;
        const double t = clamp01(dot(d, bar.along) * bar.per_length2);
        const double own = length(d - t * bar.along) - bar.radius;
        const double apart = std::abs(least - own);
        least = std::min(least, own);
        // Polynomial smooth minimum: never above either distance.
        if (apart < solid_.blend_mm) {
            const double h = 1.0 - apart / solid_.blend_mm;
            least -= 0.25 * h * h * solid_.blend_mm;
        }
    }
    return least;
}

Vec3 SolidSurface::outward(const Hit& hit) const {
    // Four corners of a tetrahedron give the gradient of the distance.
    constexpr double step = 0.05;
    constexpr std::array<Vec3, 4> corners{{{1, -1, -1}, {-1, -1, 1}, {-1, 1, -1}, {1, 1, 1}}};
    Vec3 sum;
    for (const Vec3 corner : corners) sum = sum + distance(hit.point + step * corner) * corner;
    return unit(sum);
}

Finish SolidSurface::finish(const Hit& hit) const {
    const Vec3& p = hit.point;
    Finish finish;
    finish.normal = outward(hit);
    const auto x = static_cast<float>(p.x + 0.3 * p.z);
    const auto y = static_cast<float>(p.y + 0.3 * p.z);
    const float rough = noise_.grain.at(x * 2.1F, y * 2.1F) + 0.8F * noise_.lumps.at(x * 0.3F, y * 0.3F);
    finish.albedo = clamp01(1.F + static_cast<float>(solid_.texture) * rough) * solid_.colour;
    finish.gloss = static_cast<float>(solid_.gloss);
    finish.polish = solid_.gloss > 0.5 ? 60 : 15;
    return finish;
}

Occluder SolidSurface::occluder(Vec2 bench_point) const {
    Occluder nearest;
    double least = 1e9;
    for (const Bar& bar : bars_) {
        const double t = clamp01(dot(bench_point - plan(bar.a), plan(bar.along)) * bar.per_plan_length2);
        const Vec3 at = bar.a + t * bar.along;
        const Vec2 to_axis = plan(at) - bench_point;
        const double distance = length(to_axis);
        if (distance - bar.radius >= least) continue;
        least = distance - bar.radius;
        // A bar held above the bench shades like one that lies on it and is as high.
        const double radius = 0.5 * (at.z + bar.radius);
        nearest = {std::max(0.0, distance - bar.radius + radius), radius,
                   distance > 1e-9 ? (1.0 / distance) * to_axis : Vec2{1, 0}};
    }
    return nearest;
}

}  // namespace frayhold::render
