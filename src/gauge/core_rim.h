// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <span>
#include <vector>

#include "gauge/core_tips.h"
#include "gauge/rope_strip.h"

namespace frayhold::gauge {

// The rim of a region of core to a fraction of a pixel.
//
// Model: blur mixes the light of core and sheath in linear light, so the rim runs where the mixture holds
// half of each: of the sheath outside, and of the core within a millimetre or two, shaded as the torn sheath
// shades it there; both taken nearby. What the region's own search knew stays: the rim is looked for within
// core_rim_reach_mm of the region's, and what lies deeper inside is core unless it shows the sheath's light.
inline constexpr double core_rim_reach_mm = 0.6;

// Coordinates in pixels of the strip, areas and lengths in its millimetres.
struct CoreRim {
    std::vector<std::vector<cv::Point2d>> outlines;  // of each part, its holes left out of account
    double area_mm2 = 0.0;                           // of all parts, holes filled
    double perimeter_mm = 0.0;
    double length_mm = 0.0;  // along the rope, from the first row with core to the last
};

// Where the bench beside a limb is as pale as core, how far out core goes cannot be seen: as it seems; not
// into what may be the bench's light or lies beyond the edge that was found; or all the way to where the limb
// runs by what the rope shows farther along.
enum class AtLimb { as_seen, least, most };

struct RimChoice {
    double shade = 1.0;         // the light that reaches the core at its rim, of what reaches it in the open
    Tips tips = Tips::to_neck;  // how far the rim runs on along the rope beyond its reach
    AtLimb at_limb = AtLimb::as_seen;

    bool operator==(const RimChoice&) const = default;
};

// The region's rim by each of the choices, in their order. region: CV_8U of the strip's size, 255 where core.
// Where the light tells no rim the region's own is given.
[[nodiscard]] std::vector<CoreRim> core_rims(const RopeStrip& strip, const cv::Mat& region,
                                             std::span<const RimChoice> choices);

}  // namespace frayhold::gauge
