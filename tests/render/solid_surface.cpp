// SPDX-License-Identifier: Apache-2.0
#include "render/solid_surface.h"

#include <algorithm>
#include <cmath>

namespace frayhold::render {
namespace {

Vec3 nearest_on(const Solid::Bar& bar, Vec3 p) {
    const Vec3 along = bar.b - bar.a;
    const double t = clamp01(dot(p - bar.a, along) / std::max(dot(along, along), 1e-9));
    return bar.a + t * along;
}

}  // namespace

SolidSurface::SolidSurface(const Solid& solid, const Noise& noise) : solid_(solid), noise_(noise) {
    for (const Solid::Bar& bar : solid.bars)
        top_ = std::max({top_, bar.a.z + bar.radius_mm, bar.b.z + bar.radius_mm});
}

double SolidSurface::distance(Vec3 point) const {
    double least = 1e9;
    for (const Solid::Bar& bar : solid_.bars) {
        const double d = length(point - nearest_on(bar, point)) - bar.radius_mm;
        // Polynomial smooth minimum: never above either distance.
        const double h = std::max(0.0, 1.0 - std::abs(least - d) / solid_.blend_mm);
        least = std::min(least, d) - 0.25 * h * h * solid_.blend_mm;
    }
    return least;
}

Finish SolidSurface::finish(const Hit& hit) const {
    constexpr double step = 0.05;
    const Vec3& p = hit.point;
    Finish finish;
    finish.normal = unit(Vec3{distance(p + Vec3{step, 0, 0}) - distance(p - Vec3{step, 0, 0}),
                              distance(p + Vec3{0, step, 0}) - distance(p - Vec3{0, step, 0}),
                              distance(p + Vec3{0, 0, step}) - distance(p - Vec3{0, 0, step})});
    const auto x = static_cast<float>(p.x + 0.3 * p.z);
    const auto y = static_cast<float>(p.y + 0.3 * p.z);
    const float rough = noise_.grain.at(x * 2.1F, y * 2.1F) + 0.8F * noise_.lumps.at(x * 0.3F, y * 0.3F);
    finish.albedo = clamp01(1.F + static_cast<float>(solid_.texture) * rough) * solid_.colour;
    finish.gloss = static_cast<float>(solid_.gloss);
    finish.polish = solid_.gloss > 0.5 ? 60.F : 15.F;
    return finish;
}

Occluder SolidSurface::occluder(Vec2 bench_point) const {
    Occluder nearest;
    double least = 1e9;
    for (const Solid::Bar& bar : solid_.bars) {
        const Vec3 at = nearest_on(bar, {bench_point.x, bench_point.y, 0.0});
        const Vec2 to_axis = plan(at) - bench_point;
        const double distance = length(to_axis);
        if (distance - bar.radius_mm >= least) continue;
        least = distance - bar.radius_mm;
        // A bar held above the bench shades like one that lies on it and is as high.
        const double radius = 0.5 * (at.z + bar.radius_mm);
        nearest = {std::max(0.0, distance - bar.radius_mm + radius), radius,
                   distance > 1e-9 ? (1.0 / distance) * to_axis : Vec2{1, 0}};
    }
    return nearest;
}

}  // namespace frayhold::render
