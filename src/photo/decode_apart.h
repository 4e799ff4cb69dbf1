// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>
#include <vector>

#include "photo/apart.h"
#include "photo/outgoing.h"
#include "photo/photo.h"

// Pictures from strangers, read in a child process (photo/apart.h).
namespace frayhold::photo {

// A coded picture of the allowed size and the decoder's own needs, each beyond what the program holds.
[[nodiscard]] ApartLimits usual_apart_limits(const DecodeLimits& limits = {});

// decode() in a child process: the same result, the same errors, and one more (Fault::input) where the
// reading took too much time or memory or broke the reader.
[[nodiscard]] Result<Photo> decode_apart(std::span<const std::byte> bytes, const std::string& name,
                                         const DecodeLimits& limits = {});
[[nodiscard]] Result<Photo> decode_apart(std::span<const std::byte> bytes, const std::string& name,
                                         const DecodeLimits& limits, const ApartLimits& apart);

// exif_facts() in a child process. Fault::input where that broke the reader.
[[nodiscard]] Result<ExifFacts> exif_facts_apart(std::span<const std::byte> bytes, const std::string& name);

// outgoing_copy() in a child process.
[[nodiscard]] Result<OutgoingCopy> outgoing_copy_apart(std::span<const std::byte> original,
                                                       const std::string& name);

}  // namespace frayhold::photo
