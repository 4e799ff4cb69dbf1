// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

// The reference card of gauge/card_design.h, drawn for printing.
namespace frayhold::pack {

// One A4 page with the card at its exact size (85.60 x 53.98 mm), cutting marks and how to make it; vectors
// only. hold_number: printed on the card; where empty, a line to write on. The same input gives the same
// bytes.
[[nodiscard]] std::vector<std::byte> card_pdf(const std::optional<std::string>& hold_number);

inline constexpr double card_png_mm_per_px = 0.02;
inline constexpr int card_png_width_px = 4280;
inline constexpr int card_png_height_px = 2699;

// The card's face filling the picture at 0.02 mm a pixel: 8-bit grey, sRGB values, pHYs 50,000 pixels a
// metre.
[[nodiscard]] std::vector<std::byte> card_png(const std::optional<std::string>& hold_number);

}  // namespace frayhold::pack
