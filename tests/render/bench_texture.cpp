// SPDX-License-Identifier: Apache-2.0
#include "render/bench_texture.h"

#include <cmath>

namespace frayhold::render {

namespace {

// 0 at 0, 1 at 1, level at both ends.
float smooth(float t) {
    return t * t * (3.F - 2.F * t);
}

}  // namespace

BenchTexture::BenchTexture(const Bench& bench, const Noise& noise)
    : noise_(noise),
      sort_(bench.sort),
      axis_(heading(bench.heading)),
      offset_(bench.offset_mm),
      scale_(static_cast<float>(bench.scale)),
      light_(bench.light),
      dark_(bench.dark) {}

Colour BenchTexture::wood(float x, float y) const {
    const float plank_mm = 118.F * scale_;
    const int plank = floor_int(y / plank_mm);
    const auto key = static_cast<std::uint32_t>(plank + 4096);
    const float own_y = y - plank_mm * static_cast<float>(plank);
    const float shift = 97.F * hash01(key, 1);
    // A flat-sawn board cuts the tree's rings at a depth that drifts along the grain: straight lines at its
    // sides, pointed arches near the heart.
    const float aside = own_y - plank_mm * (1.6F * hash01(key, 2) - 0.3F);
    const float drift = noise_.lumps.at(x * 0.0045F + shift, 0.3F * shift) * 14.F +
                        noise_.lumps.at(x * 0.017F + shift, y * 0.03F) * 2.6F +
                        noise_.lumps.at(x * 0.05F + shift, y * 0.22F) * 0.5F;
    const float depth = 16.F + 26.F * hash01(key, 3) + x * (0.07F * hash01(key, 5) - 0.035F) + drift;
    const float radius = std::sqrt(aside * aside + depth * depth);
    const float ring = (radius + 3.2F * noise_.lumps.at(radius * 0.045F, 5.F * hash01(key, 4))) *
                       (0.30F + 0.16F * hash01(key, 6));
    const int count = floor_int(ring);
    const float phase = ring - static_cast<float>(count);
    // Early wood darkens slowly into late wood, which ends sharply; no two years alike.
    const float late = phase * phase * (1.F - smooth(clamp01((phase - 0.82F) / 0.18F)));
    const float year = 0.35F + 0.65F * hash01(static_cast<std::uint32_t>(count + 8192), key);
    const float pores = noise_.grain.at(x * 0.13F + shift, y * 2.9F);
    const float fibre = noise_.grain.at(x * 0.55F + shift, y * 5.7F);
    const float cloud = noise_.lumps.at(x * 0.011F + shift, y * 0.021F);
    const float tone = 0.26F + 0.62F * late * year + 0.075F * pores + 0.045F * fibre + 0.07F * cloud +
                       0.30F * (hash01(key, 7) - 0.5F) + (pores > 2.1F ? 0.22F : 0.F);
    Colour colour = mix(light_, dark_, clamp01(tone));
    const float gap = own_y < plank_mm - own_y ? own_y : plank_mm - own_y;
    if (gap < 0.9F) colour = (0.22F + 0.78F * smooth(clamp01(gap / 0.9F))) * colour;
    return colour;
}

Colour BenchTexture::fleece(float x, float y) const {
    const float u = x / scale_;
    const float v = y / scale_;
    const float fold = noise_.lumps.at(u * 0.016F, v * 0.016F + 4.F);
    const float pile = noise_.lumps.at(u * 0.23F + 0.5F * fold, v * 0.23F);
    const float curl = noise_.lumps.at(u * 0.83F + 0.9F * pile, v * 0.83F + 7.F);
    const float way = curl + 0.6F * pile;
    const float fibre = noise_.grain.at(u * 3.1F + 1.7F * way, v * 1.2F - 1.1F * way);
    const float other = noise_.grain.at(u * 1.3F - 1.5F * way, v * 3.4F + 0.8F * way);
    const float tone = 0.5F + 0.07F * fold + 0.09F * pile + 0.11F * curl + 0.085F * fibre + 0.085F * other;
    return mix(dark_, light_, clamp01(tone));
}

Colour BenchTexture::concrete(float x, float y) const {
    const float cloud = noise_.lumps.at(x * 0.0113F, y * 0.0113F);
    const float blot = noise_.lumps.at(x * 0.071F + 2.F * cloud, y * 0.071F + 5.F);
    const float sand = noise_.lumps.at(x * 0.93F + blot, y * 0.93F + 3.F);
    const float grit = noise_.grain.at(x * 2.9F, y * 2.9F);
    const float tone = 0.55F + 0.075F * cloud + 0.07F * blot + 0.08F * sand + 0.09F * grit;
    Colour colour = mix(dark_, light_, clamp01(tone));
    // Blow-holes: at most one to a cell, most cells empty, few of them large.
    constexpr float cell_mm = 7.F;
    const int cx = floor_int(x / cell_mm);
    const int cy = floor_int(y / cell_mm);
    const float size = hash01(cx, cy, 1U) - 0.72F;
    if (size > 0.F) {
        const float radius = 0.18F + 26.F * size * size * size * 3.2F;
        const float room = cell_mm - 2.F * radius;
        const float dx = x - (static_cast<float>(cx) * cell_mm + radius + room * hash01(cx, cy, 2U));
        const float dy = y - (static_cast<float>(cy) * cell_mm + radius + room * hash01(cx, cy, 3U));
        const float d = std::sqrt(dx * dx + dy * dy) / (radius * (1.F + 0.18F * sand));
        if (d < 1.F) colour = (0.30F + 0.5F * d * d) * colour;
    }
    return colour;
}

Colour BenchTexture::table(float x, float y) const {
    const float cloud = noise_.lumps.at(x * 0.01F, y * 0.013F);
    const float speck = noise_.grain.at(x * 2.2F, y * 2.2F);
    const float scratch = noise_.grain.at(x * 0.02F + 40.F, y * 1.6F);
    float tone = clamp01(0.6F + 0.10F * cloud + 0.06F * speck + (scratch > 2.6F ? -0.15F : 0.F));
    return mix(dark_, light_, tone);
}

}  // namespace frayhold::render
