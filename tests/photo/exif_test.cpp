// SPDX-License-Identifier: Apache-2.0
#include "photo/exif.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "photo/encode.h"
#include "photo/photo.h"
#include "samples.h"

using frayhold::photo::ExifFacts;
using frayhold::photo::focal_px_from_exif;

namespace {

// The smallest Exif block: little-endian TIFF header and one entry, Orientation = 6 (TIFF 6.0, section 2).
const std::string orientation_6("II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0", 26);

// The same with Make, eight letters behind the directory.
const std::string made_by_ashmeer(
    "II*\0\x08\0\0\0\x01\0\x0F\x01\x02\0\x08\0\0\0\x1A\0\0\0\0\0\0\0"
    "Ashmeer\0",
    34);

ExifFacts read_text(const std::string& text) {
    return frayhold::photo::read_exif(samples::bytes_of_text(text));
}

}  // namespace

TEST_CASE("an Exif block gives what it holds and nothing else") {
    const ExifFacts facts = read_text(orientation_6);
    CHECK(facts.orientation == 6);
    CHECK(facts.make.empty());
    CHECK(facts.taken.empty());
    CHECK_FALSE(facts.focal_mm);
    CHECK_FALSE(facts.focal_35mm_mm);
    CHECK_FALSE(facts.has_position);
    CHECK_FALSE(facts.has_owner);
}

TEST_CASE("an orientation that is none of the eight counts as upright") {
    for (const char value : {'\0', '\x09', '\x7F'}) {
        std::string block = orientation_6;
        block[18] = value;
        CHECK(read_text(block).orientation == 1);
    }
}

TEST_CASE("a broken Exif block leaves the facts empty") {
    constexpr std::size_t before_value = 18;
    for (std::size_t length = 0; length <= before_value; ++length)
        CHECK(read_text(orientation_6.substr(0, length)).orientation == 1);
    CHECK(read_text(made_by_ashmeer).make == "Ashmeer");
    for (std::size_t length = 0; length < made_by_ashmeer.size(); ++length)
        CHECK(read_text(made_by_ashmeer.substr(0, length)).make.empty());
    // More entries than there is room for.
    std::string entries = made_by_ashmeer;
    entries[8] = '\xFF';
    entries[9] = '\xFF';
    CHECK_FALSE(read_text(entries).has_owner);
    CHECK(read_text(std::string(70'000, '\xFF')).orientation == 1);
    CHECK(read_text(std::string(2'000'000, 'I')).orientation == 1);
}

// 26 mm on 4032 x 3024 pixels: 26 / sqrt(36^2 + 24^2) x 5040 = 3028.7 (worked by hand).
TEST_CASE("the focal length in pixels follows from the 35 mm equivalent and the diagonal") {
    ExifFacts facts;
    CHECK_FALSE(focal_px_from_exif(facts, {4032, 3024}));
    facts.focal_35mm_mm = 26.0;
    CHECK(focal_px_from_exif(facts, {4032, 3024}).value() == Approx(3028.7).margin(0.1));
    CHECK(focal_px_from_exif(facts, {3024, 4032}).value() == Approx(3028.7).margin(0.1));
    facts.digital_zoom = 1.0;
    CHECK(focal_px_from_exif(facts, {4032, 3024}));
    facts.digital_zoom = 2.0;
    CHECK_FALSE(focal_px_from_exif(facts, {4032, 3024}));
}
