// SPDX-License-Identifier: Apache-2.0
#include "criteria/conformity.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>

namespace {

using frayhold::Uncertain;
using frayhold::criteria::nearly_one;
using frayhold::criteria::nearly_zero;
using frayhold::criteria::probability_above;
using frayhold::gauge::combine;
using frayhold::gauge::Measurand;

TEST_CASE("The probability beyond a limit is even at the limit and falls away on both sides") {
    CHECK(probability_above({10.0, 0.5}, 10.0) == Approx(0.5).epsilon(1e-12));
    CHECK(probability_above({9.0, 0.5}, 10.0) == Approx(nearly_zero).epsilon(1e-9));
    CHECK(probability_above({11.0, 0.5}, 10.0) == Approx(nearly_one).epsilon(1e-9));
    CHECK(probability_above({8.0, 0.5}, 10.0) + probability_above({12.0, 0.5}, 10.0) ==
          Approx(1.0).epsilon(1e-12));
}

TEST_CASE("Far tails keep their size instead of rounding to nothing") {
    // Phi(-8) = 6.22e-16 (SciPy: norm.cdf(-8)).
    CHECK(probability_above({2.0, 1.0}, 10.0) == Approx(6.220960574271785e-16).epsilon(1e-9));
}

TEST_CASE("A reading known exactly is beyond the limit or not") {
    CHECK(probability_above({3.0, 0.0}, 2.0) == 1.0);
    CHECK(probability_above({2.0, 0.0}, 2.0) == 0.0);
    CHECK(probability_above({0.0, 0.0}, 0.0) == 0.0);
}

TEST_CASE("Few degrees of freedom make the tails heavier") {
    // One minus Student's t distribution of 4 degrees of freedom at 2 (SciPy: t.sf(2, 4)).
    CHECK(probability_above({8.0, 1.0, 4.0}, 10.0) == Approx(0.058058261758408).epsilon(1e-9));
    CHECK(probability_above({8.0, 1.0, 4.0}, 10.0) > probability_above({8.0, 1.0}, 10.0));
    CHECK(probability_above({8.0, 1.0, 50.0}, 10.0) == probability_above({8.0, 1.0}, 10.0));
}

TEST_CASE("A ratio carries the uncertainty of both readings") {
    const auto a = combine(Measurand::fray_width, 16.0, {{"edge", 0.3}});
    const auto b = combine(Measurand::sound_width, 10.0, {{"edge", 0.1}});
    const Uncertain<double> r = frayhold::criteria::ratio(a, b);
    CHECK(r.value == Approx(1.6));
    CHECK(r.u == Approx(std::hypot(0.3 / 10.0, 16.0 * 0.1 / 100.0)).epsilon(1e-12));
    CHECK(std::isinf(r.dof));

    // The same by drawing both readings 200,000 times (JCGM 101): agrees within the sampling error of u, 0.16
    // %, and the second order that the linear law leaves out.
    std::mt19937_64 random(20120106);
    std::normal_distribution<double> draw_a(a.value, a.u);
    std::normal_distribution<double> draw_b(b.value, b.u);
    constexpr int n = 200'000;
    double sum = 0.0;
    double sum_of_squares = 0.0;
    for (int i = 0; i < n; ++i) {
        const double each = draw_a(random) / draw_b(random);
        sum += each;
        sum_of_squares += each * each;
    }
    const double mean = sum / n;
    CHECK(std::sqrt(sum_of_squares / n - mean * mean) == Approx(r.u).epsilon(0.01));
}

TEST_CASE("A ratio has the effective degrees of freedom of its two parts") {
    const auto a = combine(Measurand::local_width, 10.0, {{"edge", 0.1, 6.0}});
    const auto b = combine(Measurand::sound_width, 10.0, {{"edge", 0.1, 6.0}});
    CHECK(frayhold::criteria::ratio(a, b).dof == Approx(12.0).epsilon(1e-9));
}

TEST_CASE("A ratio to nothing is refused") {
    const auto a = combine(Measurand::fray_width, 16.0, {{"edge", 0.3}});
    const auto zero = combine(Measurand::sound_width, 0.0, {{"edge", 0.3}});
    CHECK_THROWS_AS(frayhold::criteria::ratio(a, zero), std::invalid_argument);
}

}  // namespace
