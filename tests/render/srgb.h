// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>

#include "render/vec.h"

// IEC 61966-2-1 transfer curve; values 0 to 1.
namespace frayhold::render {

inline float linear_of_srgb(float v) {
    return v <= 0.04045F ? v / 12.92F : std::pow((v + 0.055F) / 1.055F, 2.4F);
}
inline float srgb_of_linear(float v) {
    return v <= 0.0031308F ? 12.92F * v : 1.055F * std::pow(v, 1.F / 2.4F) - 0.055F;
}
// The same dye in finer, looser fibres: light is scattered before it is absorbed, so the colour pales but
// keeps its hue. 0 leaves it, 1 is white.
inline Colour paled(Colour c, float amount) {
    const auto part = [amount](float v) { return 0.92F * std::pow(v / 0.92F, 1.F - amount); };
    return {part(c.r), part(c.g), part(c.b)};
}
// From the usual 0xRRGGBB.
inline Colour colour_of(unsigned rgb) {
    const auto part = [rgb](unsigned shift) {
        return linear_of_srgb(static_cast<float>((rgb >> shift) & 255U) / 255.F);
    };
    return {part(16), part(8), part(0)};
}

}  // namespace frayhold::render
