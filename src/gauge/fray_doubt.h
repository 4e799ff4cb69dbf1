// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace frayhold::gauge {

// What one picture cannot show of a fray, and what follows for its readings.

// Height. The picture shows where a fibre's end lies on the line of sight, not how high. Read at the height
// of the item's axis, an end that stands z above it comes out shifted by z times the slope of that line. A
// fibre that reaches `reach_mm` beyond the item may stand anywhere from the bench to that reach above the
// item's axis: a rectangle of heights, here as its root mean square about the axis. Across all fibres the
// shifts cancel; but of many, the one that reads farthest out is likelier one whose shift is outward: the
// outermost of some four that reach about as far reads too far by one standard deviation (the mean of the
// largest of four normal draws is 1.03).
[[nodiscard]] double standing_height_mm(double item_radius_mm, double reach_mm);
inline constexpr double outermost_lean = 1.0;

// Thickness. Single fibres of a rope's sheath, alone or a few together, are 0.02 to 0.08 mm thick (common
// practice, no source). Where the bench lets fibres be followed only from `finest_mm` on, a share p of them
// stays unseen: those of the rectangle below it, at most nine in ten, since where none is seen there is no
// fray. The reach of fibres falls off exponentially with scale L, so the farthest of the share seen falls
// short of the farthest of all by L ln(1 / (1 - p)) on average (the mode of a Gumbel distribution moves by L
// ln n with the number n: Gumbel, Statistics of Extremes, 1958, 5.2). This returns ln(1 / (1 - p)), 0 to 2.3.
[[nodiscard]] double unseen_falloffs(double finest_mm);
inline constexpr double thickest_fibre_mm = 0.08;
// The limit is not sharp: a fibre fainter than it is often followed part of the way. So two fifths of the
// shortfall are made good; that share is doubted by three tenths, one standard deviation, and what the share
// leaves out is chance besides. Leaving out the finest fibres of 120 rendered frays, a tenth to nine tenths
// of them, made the width fall short by 1.0 n falloffs with a scatter of 0.8 sqrt(n), n = unseen_falloffs,
// and the length by 3.8 n mm with a scatter of 3.0 sqrt(n) mm.
inline constexpr double shortfall_made_good = 0.4;
[[nodiscard]] double width_shortfall_u(double unseen);  // in falloffs
[[nodiscard]] double length_shortfall_mm(double unseen);
[[nodiscard]] double length_shortfall_u_mm(double unseen);
// Of the area's shortfall, one standard deviation.
inline constexpr double area_shortfall_u = 0.6;

}  // namespace frayhold::gauge
