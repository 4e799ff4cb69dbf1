// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "photo/photo.h"
#include "units/error.h"

// The three decoders have one face: encoded bytes in, the camera's facts and then row after row out. Each
// checks the size in the header against the limits before anything takes memory for pixels. What was taken
// counts for nothing where a decoder gives an error in the end.
namespace frayhold::photo {

// A picture as it is stored, but for its pixels.
struct StoredPicture {
    int rows = 0;
    int columns = 0;
    ExifFacts exif;
    bool upright_already = false;  // the container's own rotation has been applied
    std::string format;            // as in Photo
};

// Takes a picture's rows as they are decoded.
class RowTaker {
  public:
    RowTaker() = default;
    RowTaker(const RowTaker&) = delete;
    RowTaker& operator=(const RowTaker&) = delete;
    virtual ~RowTaker() = default;

    // Once, before any row.
    virtual void begin(StoredPicture picture) = 0;
    // Where the next rows belong, whole rows of 3 bytes a pixel (B, G, R); what was given before is filled by
    // then. Empty when no row is missing.
    [[nodiscard]] virtual std::span<std::byte> next() = 0;
};

// ITU-T T.81 (JPEG), any colour space libjpeg-turbo reads; four-ink files are turned to sRGB without a
// profile.
[[nodiscard]] Result<void> decode_jpeg(std::span<const std::byte> bytes, const std::string& name,
                                       const DecodeLimits& limits, RowTaker& taker);

// ISO/IEC 15948 (PNG): palettes, greys and 16-bit files become 8-bit sRGB; transparent parts become white.
[[nodiscard]] Result<void> decode_png(std::span<const std::byte> bytes, const std::string& name,
                                      const DecodeLimits& limits, RowTaker& taker);

// ISO/IEC 23008-12 (HEIF) with an HEVC picture. The container's rotation and mirroring are applied; by the
// standard they, not the Exif orientation, say how the picture is held.
[[nodiscard]] Result<void> decode_heic(std::span<const std::byte> bytes, const std::string& name,
                                       const DecodeLimits& limits, RowTaker& taker);

// Whichever of them the bytes are for.
[[nodiscard]] Result<void> decode_rows(std::span<const std::byte> bytes, const std::string& name,
                                       const DecodeLimits& limits, RowTaker& taker);

// The Exif block of a picture from its TIFF header on, without decoding it; empty where there is none, or no
// such picture.
[[nodiscard]] std::vector<std::byte> exif_in_jpeg(std::span<const std::byte> bytes);
[[nodiscard]] std::vector<std::byte> exif_in_png(std::span<const std::byte> bytes);
[[nodiscard]] std::vector<std::byte> exif_in_heic(std::span<const std::byte> bytes);

// Nothing, or the failure that says the size and the limit it breaks.
[[nodiscard]] Result<void> check_size(long long width_px, long long height_px, const std::string& name,
                                      const DecodeLimits& limits);

// Where the header gives no size to name.
[[nodiscard]] tl::unexpected<Error> too_many_pixels(const std::string& name, const DecodeLimits& limits);

[[nodiscard]] tl::unexpected<Error> cut_short(const std::string& name);

// `words` are the decoding library's own.
[[nodiscard]] tl::unexpected<Error> damaged(const std::string& name, std::string_view words);

}  // namespace frayhold::photo
