// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cairo.h>

#include <string>

#include "pack/photo_report.h"

namespace frayhold::pack {

inline constexpr double profile_plot_height_pt = 128;

// Whether there is enough of a profile to plot: five stations or more, all numbers finite.
[[nodiscard]] bool has_profile(const PhotoReport& report);

// The width along the item: the dense width as a line, the halo of broken fibres above it as a tint, the
// undamaged width as a broken line that `sound_words` names ("sound width 11.03 ± 0.26 mm"; may be empty).
// Axes in mm.
void draw_profile(cairo_t* context, const PhotoReport& report, const std::string& sound_words, double x,
                  double y, double width);

}  // namespace frayhold::pack
