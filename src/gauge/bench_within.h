// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "gauge/rope_limbs.h"

namespace frayhold::gauge {

// At which of the pairs the bench shows within one of the limbs: there the limb is not the rope's, but the
// border of its shadow, say, beside a rope of the bench's own colour.
//
// What lies just within either limb is held against what lies just beyond it and against the rope's middle,
// by hue and roughness: shading and shadow leave both much as they are. Over neighbouring pairs together, for
// a tracer yarn or a speck of the bench is no more than a few millimetres long.
//   light   with all detail
[[nodiscard]] std::vector<char> bench_within(const Strip& strip, const StationLight& light,
                                             const std::vector<LimbPair>& pairs);

// How far within the left or right limb, along the whole rope, the look passes from the bench's to the
// sheath's, in millimetres; negative where that lies outside the limb. A limb is that place, but for the
// blur: where a narrow shadow at the rope's foot was taken for rope, or the rope's own shaded side for bench,
// it is not. At least so far outside where sheath goes on beyond what was taken for bench. Empty where sheath
// and bench hardly differ in hue and roughness.
[[nodiscard]] std::optional<double> bench_ends_within_mm(const Strip& strip, const StationLight& light,
                                                         const std::vector<LimbPair>& pairs, bool left);

}  // namespace frayhold::gauge
