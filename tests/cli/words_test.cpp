// SPDX-License-Identifier: Apache-2.0
#include "cli/words.h"

#include <catch2/catch.hpp>

#include "units/error.h"

using frayhold::Failure;
using frayhold::cli::length_along_of;
using frayhold::cli::length_of;
using frayhold::cli::number_of;
using frayhold::cli::points_of;
using frayhold::cli::whole_number_of;

TEST_CASE("numbers are read whole or not at all") {
    CHECK(number_of("--x", "12.5") == 12.5);
    CHECK(number_of("--x", "-3e2") == -300.0);
    for (const char* text : {"", " 1", "1 ", "1,5", "nan", "inf", "0x10", "12mm"})
        CHECK_THROWS_AS(number_of("--x", text), Failure);
    CHECK(whole_number_of("--x", "10") == 10);
    for (const char* text : {"", "0", "-1", "1.5", "99999999999"})
        CHECK_THROWS_AS(whole_number_of("--x", text), Failure);
}

TEST_CASE("points come in pairs") {
    const auto points = points_of("--x", "1,2,3.5,-4");
    REQUIRE(points.size() == 2);
    CHECK(points[1].x == 3.5);
    CHECK(points[1].y == -4.0);
    for (const char* text : {"", "1", "1,2,3", "1,,2", "1,2,", "1;2", "a,b"})
        CHECK_THROWS_AS(points_of("--x", text), Failure);
}

TEST_CASE("lengths have a unit or are millimetres, and are above zero") {
    CHECK(length_of("--x", "11").value() == 11.0);
    CHECK(length_of("--x", "850mm").value() == 850.0);
    CHECK(length_of("--x", "42.5m").value() == 42'500.0);
    CHECK(length_of("--x", "42.5 m").value() == 42'500.0);
    for (const char* text : {"", "m", "mm", "0", "-1m", "3ft", "1e400m"})
        CHECK_THROWS_AS(length_of("--x", text), Failure);
}

TEST_CASE("a length along an item needs its unit") {
    CHECK(length_along_of("--at", "12m").value() == 12'000.0);
    CHECK(length_along_of("--at", "850 mm").value() == 850.0);
    for (const char* text : {"12", "12.6", "0m", "12ft"})
        CHECK_THROWS_AS(length_along_of("--at", text), Failure);
    try {
        (void)length_along_of("--at", "12");
    } catch (const Failure& failure) {
        CHECK(failure.error().sentence() == "--at: \"12\" has no unit; give one, as in 12m or 850mm");
    }
}

TEST_CASE("an error names the option, what came and what was expected") {
    try {
        (void)length_of("--scrapped", "some");
        FAIL("no failure");
    } catch (const Failure& failure) {
        CHECK(failure.error().fault == frayhold::Fault::usage);
        CHECK(failure.error().sentence() ==
              "--scrapped: \"some\" is not a length such as 850mm or 42.5m; see --help");
    }
}
