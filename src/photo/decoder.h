// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <span>
#include <string>
#include <vector>

#include "photo/photo.h"
#include "units/error.h"

// The three decoders have one face: encoded bytes in, pixels and the camera's facts out. Each checks the size
// in the header against the limits before it takes memory for pixels.
namespace frayhold::photo {

struct Decoded {
    cv::Mat bgr;                       // CV_8UC3, as stored or upright: see upright_already
    std::vector<std::byte> exif_tiff;  // the Exif block from its TIFF header on; empty where there is none
    bool upright_already = false;      // the container's own rotation has been applied
};

// ITU-T T.81 (JPEG), any colour space libjpeg-turbo reads; four-ink files are turned to sRGB without a
// profile.
[[nodiscard]] Result<Decoded> decode_jpeg(std::span<const std::byte> bytes, const std::string& name,
                                          const DecodeLimits& limits);

// ISO/IEC 15948 (PNG): palettes, greys and 16-bit files become 8-bit sRGB; transparent parts become white.
[[nodiscard]] Result<Decoded> decode_png(std::span<const std::byte> bytes, const std::string& name,
                                         const DecodeLimits& limits);

// ISO/IEC 23008-12 (HEIF) with an HEVC picture. The container's rotation and mirroring are applied; by the
// standard they, not the Exif orientation, say how the picture is held.
[[nodiscard]] Result<Decoded> decode_heic(std::span<const std::byte> bytes, const std::string& name,
                                          const DecodeLimits& limits);

// The Exif block of a picture from its TIFF header on, without decoding it; empty where there is none, or no
// such picture.
[[nodiscard]] std::vector<std::byte> exif_in_jpeg(std::span<const std::byte> bytes);
[[nodiscard]] std::vector<std::byte> exif_in_png(std::span<const std::byte> bytes);
[[nodiscard]] std::vector<std::byte> exif_in_heic(std::span<const std::byte> bytes);

// A picture as it was stored, not turned upright yet, and the camera's facts.
struct Stored {
    cv::Mat bgr;  // CV_8UC3
    ExifFacts exif;
    bool upright_already = false;
    std::string format;
};

// decode() in its two halves: what reads a stranger's bytes, and what works on pixels alone.
[[nodiscard]] Result<Stored> decode_stored(std::span<const std::byte> bytes, const std::string& name,
                                           const DecodeLimits& limits);
[[nodiscard]] Photo finished(Stored stored, std::string sha256);

// Nothing, or the failure that says the size and the limit it breaks.
[[nodiscard]] Result<void> check_size(long long width_px, long long height_px, const std::string& name,
                                      const DecodeLimits& limits);

// Where the header gives no size to name.
[[nodiscard]] tl::unexpected<Error> too_many_pixels(const std::string& name, const DecodeLimits& limits);

[[nodiscard]] tl::unexpected<Error> cut_short(const std::string& name);

// `words` are the decoding library's own.
[[nodiscard]] tl::unexpected<Error> damaged(const std::string& name, std::string_view words);

}  // namespace frayhold::photo
