// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace frayhold::gauge {

// What one picture cannot show of a fray, and what follows for its readings.

// Height. The picture shows where a fibre's end lies on the line of sight, not how high. But fibres stand out
// of a round item much the same all round, so what is seen square to the line of sight is on the mean what is
// seen from straight above. Read on the plane of the item's axis, what is square to a line of sight that runs
// `across_slope` mm across for each mm of height comes out as much too long as this:
[[nodiscard]] double seen_too_long(double across_slope);
// Yet the outermost fibre as seen and the outermost as it is from above are not the same one. Each small turn
// of the line of sight puts another in its place with a chance that grows with the turn, so the variance does
// too: the deviation grows with the root of the slope, along the item or across. Of 1500 rendered frays, seen
// without error from slopes of 0.03 to 1, the width beyond the sound item deviated by 0.19 roots of the slope
// of itself, the length by 0.22 of that same width. This is the first.
[[nodiscard]] double height_u_rel(double slope);
inline constexpr double length_by_width_u = 0.22 / 0.19;
// The mass of fibres lies on the item more than it stands out all round: what is seen of it is too long by
// less than `seen_too_long`, anything from nothing to all of that; and its reach is of 0.3 roots.
inline constexpr double mass_by_width_u = 0.3 / 0.19;

// Thickness. Single fibres of a rope's sheath, alone or a few together, are 0.02 to 0.08 mm thick (common
// practice, no source). Where the bench lets fibres be followed only from some thickness on, a share p of
// them stays unseen (Halo::unseen_share): at most 19 in 20, since where none is seen there is no fray.
// The reach of fibres falls off exponentially with scale L, so the farthest of the share seen falls short of
// the farthest of all by L ln(1 / (1 - p)) on average (the mode of a Gumbel distribution moves by L ln n with
// the number n: Gumbel, Statistics of Extremes, 1958, 5.2). This returns ln(1 / (1 - p)), 0 to 3.
[[nodiscard]] double unseen_falloffs(double unseen_share);
inline constexpr double thinnest_fibre_mm = 0.02, thickest_fibre_mm = 0.08;
// The limit is not sharp: a fibre fainter than it is often followed part of the way. So half of the shortfall
// is made good; what of it is so followed is doubted by nine twentieths of the whole, one standard
// deviation, and what the share leaves out is chance besides. Leaving out the finest fibres of 120 rendered
// frays, a tenth to nine tenths of them, made the width fall short by 1.0 n falloffs with a scatter of 0.8
// sqrt(n), n = unseen_falloffs; on 60 others, measured, the length fell short by 5 n mm with a scatter of
// 5 sqrt(n) mm.
inline constexpr double shortfall_made_good = 0.5;
[[nodiscard]] double width_shortfall_u(double unseen);  // in falloffs
[[nodiscard]] double length_shortfall_mm(double unseen);
[[nodiscard]] double length_shortfall_u_mm(double unseen);
// The area between the item and the outermost fibres falls short of itself by so much for each falloff, with
// so large a deviation; where next to none was missed, chance beside the outermost at each station makes it
// too large by a tenth (on 100 rendered frays, from straight above and aslant).
inline constexpr double area_short_a_falloff = 0.3, area_shortfall_u = 0.35, area_too_far = 0.1;

// Ends. Where a fibre that was followed ends is known to some 0.3 mm; and the farthest of several ends as
// read is one that was read too far. On 40 rendered frays of which next to no fibre was missed, the width was
// read too large by 0.6 mm, on both sides together, with a scatter of 0.4 mm.
inline constexpr double farthest_too_far_mm = 0.6, farthest_end_u_mm = 0.4;

}  // namespace frayhold::gauge
