// SPDX-License-Identifier: Apache-2.0
#include "render/light_field.h"

#include <algorithm>
#include <cmath>

namespace frayhold::render {

LightField::LightField(const Scene& scene, const Projection& projection) {
    const View& view = scene.view;
    const Light& light = scene.light;
    columns_ = view.width_px / step_px + 3;
    const int rows = view.height_px / step_px + 3;
    nodes_.reserve(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows));
    const Vec3 lamp = light.reach_mm * light.towards;
    for (int row = 0; row < rows; ++row) {
        for (int column = 0; column < columns_; ++column) {
            const Vec3 ray = projection.ray(column * step_px, row * step_px);
            const Vec3 p = view.position - (view.position.z / ray.z) * ray;
            const double cosine = 1.0 / length(ray);
            const double lens = 1.0 - light.vignette * (1.0 - cosine * cosine * cosine * cosine);
            const Vec3 to_lamp = lamp - p;
            double key = light.key * light.reach_mm * light.reach_mm / dot(to_lamp, to_lamp);
            for (const Light::Band& band : light.bands) {
                const double d = std::abs(cross(heading(band.heading), plan(p)) - band.offset_mm);
                key *= 1.0 - band.depth * (1.0 - smooth_step(band.half_width_mm - band.softness_mm,
                                                             band.half_width_mm + band.softness_mm, d));
            }
            double sheen = 0.0;
            if (scene.bench.gloss > 0.0) {
                const Vec3 half = unit(unit(to_lamp) - cosine * ray);
                sheen = scene.bench.gloss * key * std::pow(std::max(0.0, half.z), 40.0);
            }
            const double scale = lens * light.exposure;
            nodes_.push_back({static_cast<float>(scale * key), static_cast<float>(scale * light.ambient),
                              static_cast<float>(scale * sheen)});
        }
    }
}

}  // namespace frayhold::render
