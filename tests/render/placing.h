// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "render/camera_view.h"
#include "render/random.h"
#include "render/scene.h"

namespace frayhold::render {

// Whether the thing's four corners lie in the picture, `margin_px` from its edges.
[[nodiscard]] bool inside_frame(const Flat& flat, const Projection& projection, double margin_px);
// The least distance from the thing's outline to the centre line, in plan view (mm).
[[nodiscard]] double clearance(const Flat& flat, const CentreLine& line);
[[nodiscard]] bool overlap(const Flat& a, const Flat& b);

// Each tries places until one fits; false where none did.
// The whole card in sight, `apart_mm` clear of the line.
[[nodiscard]] bool place_card(Random& random, Flat& card, const Projection& projection,
                              const CentreLine& line, double apart_mm);
// 15 to 70 % of the card's corners-to-middle outside the picture: one, two or three corners are cut off.
[[nodiscard]] bool place_card_cut_off(Random& random, Flat& card, const Projection& projection,
                                      const CentreLine& line, double apart_mm);
// The item crosses over the card's inner part.
[[nodiscard]] bool place_card_under(Random& random, Flat& card, const Projection& projection,
                                    const CentreLine& line);

// Adds things that could be taken for a card, and clutter, clear of the card, the item and its damage at
// `spot`.
void add_decoys(Random& random, Scene& scene, const CentreLine& line, double half_width_mm);
void add_clutter(Random& random, Scene& scene, const CentreLine& line, double half_width_mm, Vec2 spot);

}  // namespace frayhold::render
