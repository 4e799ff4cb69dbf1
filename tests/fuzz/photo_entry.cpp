// SPDX-License-Identifier: Apache-2.0
#include "fuzz/demand.h"
#include "photo/exif.h"
#include "photo/outgoing.h"
#include "photo/photo.h"

namespace frayhold::fuzz {
namespace {

// Small, so that many are tried.
constexpr photo::DecodeLimits small{
    .max_side_px = 2000, .max_pixels = 1'000'000, .max_bytes = 1'000'000, .min_side_px = 1};

bool is_printable(const std::string& text) {
    for (const char letter : text)
        if (letter < ' ' || letter > '~') return false;
    return true;
}

}  // namespace

void decode_photo(Bytes bytes) {
    const auto photo = photo::decode(bytes, "p", small);
    if (!photo) {
        demand_words(photo.error());
    } else {
        demand(photo->bgr.type() == CV_8UC3 && static_cast<long long>(photo->bgr.total()) <= small.max_pixels,
               "a picture is within its limits");
    }
    const auto copy = photo::outgoing_copy(bytes, "p");
    if (!copy) return demand_words(copy.error());
    const auto again = photo::decode(copy->bytes, "copy", small);
    if (!again) return;
    demand(!again->exif.has_position && !again->exif.has_owner, "no position and no owner leaves the house");
}

void read_exif(Bytes bytes) {
    const photo::ExifFacts facts = photo::read_exif(bytes);
    demand(facts.orientation >= 1 && facts.orientation <= 8, "an orientation is one of eight");
    for (const std::string* text : {&facts.make, &facts.model, &facts.lens, &facts.taken})
        demand(is_printable(*text), "what the camera wrote is printable");
    static_cast<void>(photo::focal_px_from_exif(facts, {4000, 3000}));
}

}  // namespace frayhold::fuzz
