// SPDX-License-Identifier: Apache-2.0
#include "render/bench_texture.h"

namespace frayhold::render {

namespace {

// 0 at 0, 1 at 1, level at both ends.
float smooth(float t) { return t * t * (3.F - 2.F * t); }

}  // namespace

BenchTexture::BenchTexture(const Bench& bench, const Noise& noise)
    : noise_(noise),
      sort_(bench.sort),
      axis_(heading(bench.heading)),
      scale_(static_cast<float>(bench.scale)),
      light_(bench.light),
      dark_(bench.dark) {}

Colour BenchTexture::wood(float x, float y) const {
    const float plank_mm = 95.F * scale_;
    const float across = y / plank_mm;
    const int plank = floor_int(across);
    const auto key = static_cast<std::uint32_t>(plank + 4096);
    const float own_y = y - plank_mm * static_cast<float>(plank);
    const float shift = 997.F * hash01(key, 1);
    // Rings of the tree, cut at a small angle: slow waves along the grain.
    const float wave = noise_.lumps.at(x * 0.006F + shift, y * 0.02F) * 5.F +
                       noise_.lumps.at(x * 0.02F + 2.F * shift, y * 0.06F) * 1.1F;
    const float ring = (own_y + wave) * (0.16F + 0.12F * hash01(key, 2)) + 10.F * hash01(key, 3);
    const float phase = ring - static_cast<float>(floor_int(ring));
    const float late = phase * phase * phase * (1.F - smooth(clamp01((phase - 0.85F) / 0.15F)));
    const float pores = noise_.grain.at(x * 0.16F + shift, y * 3.1F);
    const float fine = noise_.grain.at(x * 0.7F + shift, y * 6.3F);
    float tone = 0.30F + 1.5F * late + 0.10F * pores + 0.05F * fine + 0.35F * (hash01(key, 4) - 0.5F);
    tone = clamp01(tone);
    Colour colour = mix(light_, dark_, tone);
    const float gap = own_y < plank_mm - own_y ? own_y : plank_mm - own_y;
    if (gap < 0.9F) colour = (0.22F + 0.78F * smooth(clamp01(gap / 0.9F))) * colour;
    return colour;
}

Colour BenchTexture::fleece(float x, float y) const {
    const float pile = noise_.lumps.at(x * 0.35F / scale_, y * 0.35F / scale_);
    const float tuft = noise_.lumps.at(x * 1.1F / scale_ + 0.6F * pile, y * 1.1F / scale_ + 7.F);
    const float turn = noise_.lumps.at(x * 0.11F + 3.F, y * 0.11F);
    const float fibre = turn > 0.F ? noise_.grain.at(x * 4.2F + y * 1.3F, y * 0.9F - x * 0.4F)
                                   : noise_.grain.at(x * 0.9F - y * 0.5F, y * 4.2F + x * 1.2F);
    const float tone = clamp01(0.5F + 0.14F * pile + 0.13F * tuft + 0.09F * fibre);
    return mix(dark_, light_, tone);
}

Colour BenchTexture::concrete(float x, float y) const {
    const float cloud = noise_.lumps.at(x * 0.017F, y * 0.017F);
    const float blot = noise_.lumps.at(x * 0.13F + 5.F, y * 0.13F);
    const float sand = noise_.lumps.at(x * 1.25F, y * 1.25F + 3.F);
    const float grit = noise_.grain.at(x * 3.3F, y * 3.3F);
    float tone = clamp01(0.55F + 0.13F * cloud + 0.10F * blot + 0.11F * sand + 0.10F * grit);
    const float pore = noise_.lumps.at(x * 0.42F + 11.F, y * 0.42F + 2.F) + 0.2F * sand;
    Colour colour = mix(dark_, light_, tone);
    if (pore > 2.35F) colour = (1.F - 0.7F * clamp01((pore - 2.35F) * 5.F)) * colour;
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
