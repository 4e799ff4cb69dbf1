// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/random.h"
#include "render/scene.h"

namespace frayhold::render {

[[nodiscard]] View random_view(Random& random, const SceneChoice& choice);
[[nodiscard]] Light random_light(Random& random);
[[nodiscard]] Bench random_bench(Random& random);
// Without its line and its damage.
[[nodiscard]] Rope random_rope(Random& random);
[[nodiscard]] Webbing random_webbing(Random& random);

// A centre line that passes `spot` (mm along it, given back) over the bench point `at`: straight, bent, an S,
// or a rope that comes back beside itself; running out of any picture at both ends, or ending in sight.
struct LaidLine {
    CentreLine line;
    double spot_mm = 0.0;
};
[[nodiscard]] LaidLine laid_rope(Random& random, Vec2 at);
[[nodiscard]] LaidLine laid_straight(Random& random, Vec2 at);

[[nodiscard]] Flat random_card(Random& random, CardSort sort);
// Something that could be taken for a card.
[[nodiscard]] Flat random_decoy(Random& random);
[[nodiscard]] Flat steel_rule(Random& random);
// A gloved hand that reaches in along `heading_rad`, its knuckles over `at`.
[[nodiscard]] Solid gloved_hand(Random& random, Vec2 at, double heading_rad);
// A closed ring of metal bar.
[[nodiscard]] Solid metal_ring(Random& random, Vec2 at, double heading_rad);

}  // namespace frayhold::render
