// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/centre_line.h"
#include "render/noise_tile.h"
#include "render/vec.h"

namespace frayhold::render {

// What a ray met.
struct Hit {
    double depth = 0.0;  // the ray's parameter: distance along the camera's axis
    Vec3 point;
    CentreLine::Foot foot;
};

// How the surface looks at a point before light falls on it.
struct Finish {
    Colour albedo;
    Vec3 normal;
    float gloss = 0.F;  // strength of the highlight
    int polish = 16;    // its sharpness (Blinn-Phong exponent)
};

// The round bar that stands for the item when its shadow on the bench is worked out.
struct Occluder {
    double distance_mm = 0.0;  // in plan view from the bar's axis
    double radius_mm = 0.0;    // of the bar, which lies on the bench
    Vec2 towards;              // unit, from the bench point to the axis
};

// The noise every surface may read.
struct Noise {
    NoiseTile lumps{1, 8};
    NoiseTile grain{2, 1};
};
// Made once and never changed; scenes differ by where in it they look.
[[nodiscard]] const Noise& shared_noise();

// Sphere tracing (Hart 1996) between two depths. Surface::distance must never exceed the true distance.
template <class Surface>
[[nodiscard]] bool trace(const Surface& surface, Vec3 origin, Vec3 direction, double from_depth,
                         double to_depth, Hit& hit) {
    const double per_mm = 1.0 / length(direction);
    double depth = from_depth;
    for (int step = 0; step < Surface::most_steps && depth <= to_depth; ++step) {
        const Vec3 point = origin + depth * direction;
        const double d = surface.distance(point, hit.foot);
        if (d < Surface::touch_mm) {
            hit.depth = depth;
            hit.point = point;
            return true;
        }
        depth += d * per_mm;
    }
    return false;
}

}  // namespace frayhold::render
