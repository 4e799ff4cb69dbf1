// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/scene.h"

namespace frayhold::render {

// Loose fibres in plan view, by 1 mm stations of the centre line: station i covers arc length i .. i + 1.
struct FrayProfile {
    std::vector<double> outer_mm;  // outermost fibre (or the item's own edge) left to right
    std::vector<double> dense_mm;  // the same between the points where fibres cover half
    std::vector<bool> halo;        // a fibre reaches more than 0.5 mm outside the edge
    double area_mm2 = 0.0;         // both sides, from the edge to the outermost fibre
};

// Coverage at distance q from the centre line: the share of a cell, 1 mm along by 0.25 mm across and centred
// on q, that fibres cover, from a raster of 1/32 mm. Going outward from the item's edge, the dense edge is
// the first q where it falls to a half.
[[nodiscard]] FrayProfile fray_profile(const CentreLine& line, const std::vector<double>& half_width,
                                       const std::vector<Hair>& hairs);

// The curve at t from 0 to 1.
[[nodiscard]] constexpr Vec3 along_hair(const Hair& hair, double t) {
    return (1 - t) * (1 - t) * hair.root + 2 * t * (1 - t) * hair.bend + t * t * hair.tip;
}
// Upper bound of the curve's length: its control polygon.
[[nodiscard]] inline double hair_length(const Hair& hair) {
    return length(hair.bend - hair.root) + length(hair.tip - hair.bend);
}

}  // namespace frayhold::render
