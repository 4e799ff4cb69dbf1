// SPDX-License-Identifier: Apache-2.0
#include "gauge/reading.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <set>
#include <stdexcept>
#include <string>

#include "gauge/student_t.h"

namespace {

using frayhold::gauge::combine;
using frayhold::gauge::Measurand;
using frayhold::gauge::Reading;

constexpr double infinite = std::numeric_limits<double>::infinity();

TEST_CASE("A budget combines by root sum of squares") {
    const Reading reading = combine(Measurand::sound_width, 11.0, {{"card", 0.03}, {"edge", 0.04}}, {{1, 2}});
    CHECK(reading.measurand == Measurand::sound_width);
    CHECK(reading.value == 11.0);
    CHECK(reading.u == Approx(0.05).epsilon(1e-12));
    CHECK(std::isinf(reading.dof));
    CHECK(reading.k == 2.0);
    CHECK(reading.U == Approx(0.10).epsilon(1e-12));
    CHECK(reading.budget.size() == 2);
    CHECK(reading.outline_px.size() == 1);
}

TEST_CASE("Few degrees of freedom widen U by Student's t") {
    // Two equal lines of 4 degrees of freedom each: 1 / (2 x (1/2)^2 / 4) = 8.
    const Reading reading = combine(Measurand::nick_depth, 3.0, {{"a", 0.1, 4.0}, {"b", 0.1, 4.0}});
    CHECK(reading.dof == Approx(8.0).epsilon(1e-12));
    CHECK(reading.k == frayhold::gauge::student_t(8.0));
    CHECK(reading.U == Approx(reading.k * std::sqrt(0.02)).epsilon(1e-12));
}

TEST_CASE("A line with a small u adds nothing to the degrees of freedom") {
    const Reading reading = combine(Measurand::distance, 1.0, {{"big", 1.0}, {"small", 1e-120, 1.0}});
    CHECK(reading.dof > 1e100);
    CHECK(reading.k == 2.0);
}

TEST_CASE("A budget of exact lines gives no uncertainty, not NaN") {
    const Reading reading = combine(Measurand::stitch_rows, 4.0, {{"count", 0.0}});
    CHECK(reading.u == 0.0);
    CHECK(reading.U == 0.0);
    CHECK(std::isinf(reading.dof));
}

TEST_CASE("A reading is never made without a sound budget") {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK_THROWS_AS(combine(Measurand::distance, 1.0, {}), std::invalid_argument);
    CHECK_THROWS_AS(combine(Measurand::distance, nan, {{"a", 0.1}}), std::invalid_argument);
    CHECK_THROWS_AS(combine(Measurand::distance, 1.0, {{"a", -0.1}}), std::invalid_argument);
    CHECK_THROWS_AS(combine(Measurand::distance, 1.0, {{"a", nan}}), std::invalid_argument);
    CHECK_THROWS_AS(combine(Measurand::distance, 1.0, {{"a", infinite}}), std::invalid_argument);
    CHECK_THROWS_AS(combine(Measurand::distance, 1.0, {{"a", 0.1, 0.0}}), std::invalid_argument);
}

TEST_CASE("Every measurand has one name and a unit, and the name leads back to it") {
    std::set<std::string> names;
    for (int i = 0; i <= static_cast<int>(Measurand::area); ++i) {
        const auto measurand = static_cast<Measurand>(i);
        const auto name = name_of(measurand);
        CAPTURE(name);
        CHECK(names.emplace(name).second);
        CHECK(frayhold::gauge::measurand_named(name) == measurand);
        const bool is_area = name == "area" || name.ends_with("_area");
        CHECK((symbol_of(unit_of(measurand)) == "mm²") == is_area);
    }
    CHECK(symbol_of(unit_of(Measurand::nick_share)).empty());
    CHECK(symbol_of(unit_of(Measurand::nick_depth)) == "mm");
    CHECK_FALSE(frayhold::gauge::measurand_named("width"));
    CHECK_FALSE(frayhold::gauge::measurand_named(""));
}

}  // namespace
