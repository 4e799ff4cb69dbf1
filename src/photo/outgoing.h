// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "units/error.h"

namespace frayhold::photo {

// A photo as it may leave the house.
struct OutgoingCopy {
    std::vector<std::byte> bytes;
    std::string_view extension;  // ".jpg" or ".png"
    // The original is HEIC: its picture was encoded anew, upright, as JPEG. Else every pixel is the
    // original's.
    bool converted = false;
};

// The photo with nothing beside the picture but what measuring needs: of the Exif block the camera's make,
// model and lens, orientation, times, exposure and focal length are kept; position, owner, serial numbers,
// comments, maker's notes, thumbnails and everything unknown are left out, as are XMP, IPTC and pictures or
// films behind the first picture. What is kept is listed, not what is dropped, so that a field unheard of
// does not slip through. Colour profiles stay. The same original gives the same bytes. Errors (Fault::input):
// not a picture, cut short, damaged.
[[nodiscard]] Result<OutgoingCopy> outgoing_copy(std::span<const std::byte> original,
                                                 const std::string& name);

}  // namespace frayhold::photo
