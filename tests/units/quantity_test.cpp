// SPDX-License-Identifier: Apache-2.0
#include "units/quantity.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <type_traits>

#include "units/uncertain.h"

namespace {

using frayhold::Millimetres;
using frayhold::Pixels;
using frayhold::SquareMillimetres;

template <class A, class B>
concept addable = requires(A a, B b) {
    a + b;
};
template <class A, class B>
concept comparable = requires(A a, B b) {
    a < b;
};

// Units do not mix, and a bare number is not a quantity.
static_assert(addable<Millimetres, Millimetres>);
static_assert(!addable<Millimetres, Pixels>);
static_assert(!addable<Millimetres, double>);
static_assert(comparable<Pixels, Pixels>);
static_assert(!comparable<Millimetres, Pixels>);
static_assert(!std::is_convertible_v<double, Millimetres>);
static_assert(!std::is_convertible_v<Millimetres, double>);
static_assert(!std::is_convertible_v<Millimetres, Pixels>);

TEST_CASE("Quantities add, scale and compare in their own unit") {
    constexpr Millimetres a(3.5);
    constexpr Millimetres b(1.5);
    CHECK((a + b).value() == 5.0);
    CHECK((a - b).value() == 2.0);
    CHECK((-a).value() == -3.5);
    CHECK((a * 2.0).value() == 7.0);
    CHECK((2.0 * a).value() == 7.0);
    CHECK((a / 7.0).value() == 0.5);
    CHECK(a > b);
    CHECK(a == Millimetres(3.5));
    CHECK(Millimetres().value() == 0.0);
}

TEST_CASE("A ratio of two lengths is a number and a product an area") {
    CHECK(Millimetres(3.0) / Millimetres(2.0) == 1.5);
    const SquareMillimetres area = Millimetres(3.0) * Millimetres(2.0);
    CHECK(area.value() == 6.0);
}

TEST_CASE("Literals name their unit") {
    using frayhold::literals::operator""_mm;
    using frayhold::literals::operator""_px;
    using frayhold::literals::operator""_deg;
    CHECK((85.6_mm).value() == 85.6);
    CHECK((3_mm).value() == 3.0);
    CHECK((12_px).value() == 12.0);
    CHECK((35_deg).value() == 35.0);
}

TEST_CASE("An uncertain value takes its u as known exactly unless told otherwise") {
    const frayhold::Uncertain<double> value{11.0, 0.1};
    CHECK(std::isinf(value.dof));
}

}  // namespace
