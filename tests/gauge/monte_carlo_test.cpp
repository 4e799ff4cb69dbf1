// SPDX-License-Identifier: Apache-2.0
#include "gauge/monte_carlo.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "gauge/reading.h"

namespace {

using frayhold::gauge::agrees_within;
using frayhold::gauge::numerical_tolerance;
using frayhold::gauge::propagate;
using frayhold::gauge::Random;
using frayhold::gauge::Spread;

TEST_CASE("A normal quantity comes back with its mean, its u and two equal intervals") {
    const Spread spread =
        propagate([](Random& random) { return std::normal_distribution(10.0, 0.5)(random); }, 200'000, 1);
    CHECK(spread.draws == 200'000);
    CHECK(spread.mean == Approx(10.0).margin(4 * 0.5 / std::sqrt(200'000.0)));
    CHECK(spread.u == Approx(0.5).epsilon(4 / std::sqrt(400'000.0)));
    CHECK(spread.symmetric.low == Approx(9.0).margin(0.02));
    CHECK(spread.symmetric.high == Approx(11.0).margin(0.02));
    CHECK(spread.shortest.high - spread.shortest.low <= spread.symmetric.high - spread.symmetric.low);
    CHECK(spread.shortest.low == Approx(9.0).margin(0.06));
}

TEST_CASE("Four rectangular inputs added up") {
    // JCGM 101, 9.2.3: four rectangular inputs of standard uncertainty 1; the exact 95 % interval is +-3.88
    // where the normal law says +-3.92 (both from memory; the exact end follows from the Irwin-Hall density,
    // see below).
    const auto sum = [](Random& random) {
        std::uniform_real_distribution input(-std::sqrt(3.0), std::sqrt(3.0));
        return input(random) + input(random) + input(random) + input(random);
    };
    const Spread spread = propagate(sum, 400'000, 2, 0.95);
    // The tail of four added inputs beyond x is (2 - x / (2 sqrt 3))^4 / 24: 2.5 % at this x.
    const double exact = 2.0 * std::sqrt(3.0) * (2.0 - std::pow(24.0 * 0.025, 0.25));
    CHECK(exact == Approx(3.88).margin(0.005));
    CHECK(spread.u == Approx(2.0).epsilon(0.005));
    CHECK(spread.symmetric.high == Approx(exact).margin(0.02));
    CHECK(spread.symmetric.low == Approx(-exact).margin(0.02));
}

TEST_CASE("The shortest interval of a skew quantity lies beside the symmetric one") {
    const Spread spread = propagate([](Random& random) { return std::exponential_distribution(1.0)(random); },
                                    200'000, 3, 0.95);
    // Exponential: the shortest interval starts at 0 and ends at -ln 0.05; the symmetric one is -ln 0.975 to
    // -ln 0.025.
    CHECK(spread.shortest.low == Approx(0.0).margin(0.01));
    CHECK(spread.shortest.high == Approx(-std::log(0.05)).margin(0.05));
    CHECK(spread.symmetric.low == Approx(-std::log(0.975)).margin(0.003));
    CHECK(spread.symmetric.high == Approx(-std::log(0.025)).margin(0.06));
}

TEST_CASE("One seed gives one result, another seed another") {
    const auto draw = [](Random& random) { return std::normal_distribution(0.0, 1.0)(random); };
    CHECK(propagate(draw, 1000, 7).mean == propagate(draw, 1000, 7).mean);
    CHECK(propagate(draw, 1000, 7).mean != propagate(draw, 1000, 8).mean);
}

TEST_CASE("A combined reading agrees with its own draws, and a wrong one does not") {
    using frayhold::gauge::combine;
    const auto reading =
        combine(frayhold::gauge::Measurand::sound_width, 11.0, {{"card", 0.04}, {"edge", 0.03}});
    const auto draw = [](Random& random) {
        return 11.0 + std::normal_distribution(0.0, 0.04)(random) +
               std::normal_distribution(0.0, 0.03)(random);
    };
    const Spread spread = propagate(draw, 220'000, 4);
    const double tolerance = numerical_tolerance(reading.u, 2);
    CHECK(tolerance == Approx(0.0005));
    CHECK(agrees_within(tolerance, reading.value, reading.U, spread));
    CHECK_FALSE(agrees_within(tolerance, reading.value, reading.U * 1.05, spread));
    CHECK_FALSE(agrees_within(tolerance, reading.value + 0.005, reading.U, spread));
}

TEST_CASE("Student's t inputs widen the interval as the coverage factor says") {
    const auto reading =
        frayhold::gauge::combine(frayhold::gauge::Measurand::distance, 5.0, {{"repeat", 0.1, 4.0}});
    const auto draw = [](Random& random) { return 5.0 + 0.1 * std::student_t_distribution(4.0)(random); };
    const Spread spread = propagate(draw, 400'000, 5);
    CHECK(spread.symmetric.high - 5.0 == Approx(reading.U).epsilon(0.015));
}

TEST_CASE("The numerical tolerance is half a unit of the last significant digit") {
    // JCGM 101, 7.9.2, examples 1 to 3, from memory.
    CHECK(numerical_tolerance(0.00035, 2) == Approx(0.000005));
    CHECK(numerical_tolerance(0.04, 1) == Approx(0.005));
    CHECK(numerical_tolerance(2.0, 1) == Approx(0.5));
    CHECK_THROWS_AS(numerical_tolerance(0.0, 2), std::invalid_argument);
    CHECK_THROWS_AS(numerical_tolerance(1.0, 0), std::invalid_argument);
}

TEST_CASE("A quantity that never varies has no u and intervals of no length") {
    const Spread spread = propagate([](Random&) { return 3.0; }, 100, 6);
    CHECK(spread.u == 0.0);
    CHECK(spread.symmetric.low == 3.0);
    CHECK(spread.shortest.high == 3.0);
}

TEST_CASE("Draws that cannot be used are refused") {
    const auto draw = [](Random&) { return 1.0; };
    CHECK_THROWS_AS(propagate(draw, 99, 1), std::invalid_argument);
    CHECK_THROWS_AS(propagate(draw, 100, 1, 1.0), std::invalid_argument);
    CHECK_THROWS_AS(propagate([](Random&) { return std::numeric_limits<double>::quiet_NaN(); }, 100, 1),
                    std::invalid_argument);
}

}  // namespace
