// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/types.hpp>
#include <optional>
#include <span>

#include "photo/photo.h"

namespace frayhold::photo {

// Reads an Exif block from its TIFF header on. Anything unreadable is left empty; nothing here can fail.
// Text is cut to printable ASCII, as the standard has it.
[[nodiscard]] ExifFacts read_exif(std::span<const std::byte> tiff);

// Relative standard uncertainty to be assumed of focal_px_from_exif: makers round to whole millimetres (2 %
// at 26 mm) and some refer to the width, not the diagonal, of the 36 x 24 mm frame (common practice, no
// source).
inline constexpr double exif_focal_u_rel = 0.03;

// The focal length in pixels of the upright picture, from the 35 mm equivalent: f35 x diagonal / 43.27 mm.
// Empty where the camera wrote none, or zoomed digitally: makers do not agree whether the equivalent contains
// the zoom. A picture cropped after it was taken gives a wrong value that cannot be told from the facts.
[[nodiscard]] std::optional<double> focal_px_from_exif(const ExifFacts& facts, cv::Size size_px);

}  // namespace frayhold::photo
