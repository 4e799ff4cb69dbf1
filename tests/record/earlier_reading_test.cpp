// SPDX-License-Identifier: Apache-2.0
#include "record/earlier_reading.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "record/json.h"

namespace frayhold::record {
namespace {

gauge::Reading read_as(gauge::Measurand measurand, double value, double u) {
    return gauge::combine(measurand, value, {{"edge", u}});
}

PhotoEntry photo(int number, PhotoRole role, std::vector<gauge::Reading> readings) {
    PhotoEntry entry;
    entry.number = number;
    entry.role = role;
    entry.usable = true;
    entry.added = *parse_time("2025-03-01T10:00:00Z");
    entry.readings = std::move(readings);
    return entry;
}

EarlierHold hold(const char* number, std::vector<PhotoEntry> photos) {
    EarlierHold earlier;
    earlier.hold.number = number;
    earlier.photos = std::move(photos);
    return earlier;
}

using gauge::Measurand;

}  // namespace

TEST_CASE("A reading stands beside the newest earlier one of its quantity and view") {
    CaseFile file;
    file.earlier = {
        hold("H-2023-0001", {photo(1, PhotoRole::close_up, {read_as(Measurand::sound_width, 11.4, 0.05)})}),
        hold("H-2024-0001",
             {photo(3, PhotoRole::close_up, {read_as(Measurand::sound_width, 11.2, 0.03)}),
              photo(4, PhotoRole::other_side, {read_as(Measurand::sound_width, 99.0, 0.03)})})};
    file.photos = {
        photo(2, PhotoRole::close_up,
              {read_as(Measurand::sound_width, 11.0, 0.04), read_as(Measurand::fray_width, 17, 0.5)})};

    const auto earlier = earlier_readings(file);
    REQUIRE(earlier.size() == 1);  // the fray was never read before
    CHECK(earlier[0].hold == "H-2024-0001");
    CHECK(earlier[0].photo == 2);
    CHECK(earlier[0].earlier_photo == 3);
    CHECK(earlier[0].change.value == Approx(-0.2));
    // JCGM 100:2008, 5.1.2: independent inputs add in squares.
    CHECK(earlier[0].change.u == Approx(std::hypot(0.03, 0.04)));

    const auto json = as_json(file);
    CHECK(json["earlier_readings"][0]["hold"] == "H-2024-0001");
    CHECK(json["earlier_readings"][0]["change"]["quantity"] == "sound_width");
}

TEST_CASE("Spoilt photos and marks by hand stand beside nothing") {
    CaseFile file;
    PhotoEntry spoilt = photo(1, PhotoRole::close_up, {read_as(Measurand::sound_width, 11.4, 0.05)});
    spoilt.usable = false;
    file.earlier = {hold("H-2023-0001",
                         {spoilt, photo(2, PhotoRole::close_up, {read_as(Measurand::glaze_length, 30, 1)})})};
    file.photos = {
        photo(1, PhotoRole::close_up,
              {read_as(Measurand::sound_width, 11.0, 0.04), read_as(Measurand::glaze_length, 40, 1)})};
    CHECK(earlier_readings(file).empty());
    file.earlier[0].photos[0].usable = true;
    CHECK(earlier_readings(file).size() == 1);
}

}  // namespace frayhold::record
