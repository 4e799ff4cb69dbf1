// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <span>
#include <string>

#include "units/error.h"

namespace frayhold::photo {

// What the camera wrote beside the picture (Exif 2.3, CIPA DC-008). Empty where it wrote nothing.
struct ExifFacts {
    std::string make;
    std::string model;
    std::string lens;
    std::optional<double> focal_mm;
    std::optional<double> focal_35mm_mm;  // FocalLengthIn35mmFilm: for the 43.27 mm diagonal of 36 x 24 mm
    std::optional<double> digital_zoom;   // DigitalZoomRatio
    std::string taken;                    // DateTimeOriginal as "2026-02-28T09:30:00", the camera's own clock
    int orientation = 1;                  // 1 to 8, as stored
    bool has_position = false;
    bool has_owner = false;
};

// A decoded photo, turned upright (Exif orientation applied).
struct Photo {
    cv::Mat bgr;  // CV_8UC3, sRGB values, rows x cols of the upright picture
    ExifFacts exif;
    std::string sha256;  // of the encoded bytes, 64 lower-case hex digits
    std::string format;  // "jpeg", "png" or "heic"
};

struct DecodeLimits {
    int max_side_px = 20'000;
    long long max_pixels = 120'000'000;
    std::size_t max_bytes = 200'000'000;
    int min_side_px = 64;
};

// Decodes by content, never by file name. `name` is only for the words of an error.
// Errors (Fault::input): not a picture, cut short, damaged, too large, too small. Checked from the header
// before any pixel memory is taken.
[[nodiscard]] Result<Photo> decode(std::span<const std::byte> bytes, const std::string& name,
                                   const DecodeLimits& limits = {});

// What the camera wrote, without decoding the picture: empty where it wrote nothing, and for what is no
// picture.
[[nodiscard]] ExifFacts exif_facts(std::span<const std::byte> bytes);

// A file's photo, decoded in a child process (decode_apart.h). Throws Failure where that or reading fails.
[[nodiscard]] Photo load(const std::string& path, const DecodeLimits& limits = {});

}  // namespace frayhold::photo
