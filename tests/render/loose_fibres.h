// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/random.h"
#include "render/scene.h"

namespace frayhold::render {

// Broken sheath fibres about one spot of a rope.
struct FrayRecipe {
    double middle_mm = 0.0;  // along the rope
    double half_length_mm = 12.0;
    double middle_angle = 0.0;   // round the rope, from straight up, positive to the left
    double spread_angle = 0.9;   // standard deviation
    double count_per_mm = 60.0;  // of rope
    double mean_length_mm = 3.5;
};

// Many short fibres, some in tufts, a few long: their number thins out to both ends, so that the damage has
// no hard edge.
[[nodiscard]] std::vector<Hair> frayed_sheath(Random& random, const Rope& rope, const FrayRecipe& recipe);

// Fibres at the rim of a core window.
[[nodiscard]] std::vector<Hair> torn_rim(Random& random, const Rope& rope, const CoreWindow& window,
                                         int count);

// A fluffed edge of webbing.
[[nodiscard]] std::vector<Hair> fluffed_edge(Random& random, const Webbing& web, const Stretch& stretch,
                                             int side, double count_per_mm, double mean_length_mm);

// A few loose fibres at a nick, which stay inside the webbing's outline.
[[nodiscard]] std::vector<Hair> nick_fibres(Random& random, const Webbing& web, const Nick& nick, int count);

}  // namespace frayhold::render
