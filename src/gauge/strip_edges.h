// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "gauge/station_light.h"
#include "gauge/strip.h"

namespace frayhold::gauge {

// Where the item ends on either side at one station: millimetres across the strip on the bench plane, left
// negative. NaN where no edge is seen.
struct StationEdges {
    double left = 0.0;
    double right = 0.0;
};

// By how much the light and the hue of one surface may vary, as variances of their logarithms, so that the
// border of a shadow does not pass for the item's edge. Beside a rope, which overhangs the bench, a deep
// shadow takes half of the light and more, and what is left, light from all round, may be of somewhat another
// hue than the lamp's; beside flat webbing there is next to none of that.
struct ShadowBeside {
    double lightness, hue;
};
inline constexpr ShadowBeside shadow_beside_rope{2.0, 0.06 * 0.06}, shadow_beside_webbing{0.5, 2e-4};

// Looks for both edges near +-half_width_mm at every station, good to some tenths of a millimetre.
// What reaches from 3 mm within the places tried to 3 mm beyond is parted at each place into two, each taken
// as one normal distribution of log light and roughness over a few stations; kept is the most likely border
// of two such (least sum of log determinants: Zhu & Yuille 1996, region competition, in one dimension).
// Shading and shadow stretch a distribution along lightness only, so a limb that fades into its own shadow is
// still told by its hue, and a braid from a bench of its own hue by its roughness.
[[nodiscard]] std::vector<StationEdges> find_edges(const Strip& strip, const StationLight& light,
                                                   double half_width_mm,
                                                   const ShadowBeside& shadow = shadow_beside_rope);

// Median over a window of +-reach entries, NaN entries left out; NaN where all are.
[[nodiscard]] std::vector<double> running_median(const std::vector<double>& values, int reach);

}  // namespace frayhold::gauge
