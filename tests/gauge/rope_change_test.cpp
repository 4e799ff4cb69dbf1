// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_change.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace frayhold::gauge {
namespace {

constexpr std::size_t stations = 200, from = 90, to = 110;

// A rope of 10 mm that bends with the given radius, a station each millimetre; over a stretch its edges stand
// farther out.
RopeLimbs bent_rope(double bend_mm, double left_mm, double right_mm) {
    RopeLimbs limbs;
    limbs.strip.mm_per_px = 1.0;
    for (std::size_t s = 0; s < stations; ++s) {
        const double turn = static_cast<double>(s) / bend_mm;
        limbs.strip.line.at_mm.emplace_back(bend_mm * std::sin(turn), bend_mm * (1 - std::cos(turn)));
        limbs.strip.line.along.emplace_back(std::cos(turn), std::sin(turn));
        limbs.light.row.push_back(static_cast<double>(s));
        const bool changed = s >= from && s < to;
        limbs.sound.left.push_back(-5.0 - (changed ? left_mm : 0.0));
        limbs.sound.right.push_back(5.0 + (changed ? right_mm : 0.0));
    }
    return limbs;
}

TEST_CASE("each edge is held against where the sound rope beside the stretch leads", "[rope_change]") {
    for (const double bend_mm : {200.0, 1e5})
        for (const EdgesMoved& moved : edges_moved(bent_rope(bend_mm, 0.8, -0.3), {from, to}, {from, to})) {
            CHECK(std::abs(moved.left_mm - 0.8) < 0.25);
            CHECK(std::abs(moved.right_mm + 0.3) < 0.25);
        }
    const auto straight = edges_moved(bent_rope(1e5, 0.8, -0.3), {from, to}, {from, to});
    REQUIRE(straight.size() == 3);
    CHECK(std::abs(unequal_mm(straight) - 1.1) < 0.05);
}

TEST_CASE("where too little rope is in the picture beside the stretch nothing is told", "[rope_change]") {
    const RopeLimbs rope = bent_rope(1e5, 0.8, 0.8);
    CHECK(edges_moved(rope, {10, 30}, {10, 30}).empty());
    CHECK(edges_moved(rope, {170, 190}, {170, 190}).empty());
    CHECK(unequal_mm({}) == 0.0);
}

TEST_CASE("flattened and swollen ropes move both edges", "[rope_change]") {
    CHECK_FALSE(one_sided({{0.7, 0.5}}, 1.2));
    CHECK_FALSE(one_sided({{-0.7, -0.5}}, -1.2));
    CHECK(one_sided({{1.3, 0.1}, {1.2, 0.0}}, 1.4));
    CHECK(one_sided({{0.1, -1.3}}, -1.2));
    // On a sharp bend the three do not agree, or the edges do not amount to the change of width: not told.
    CHECK_FALSE(one_sided({{1.3, 0.1}, {0.1, 1.3}}, 1.4));
    CHECK_FALSE(one_sided({{1.3, 0.1}, {0.8, 0.6}}, 1.4));
    CHECK_FALSE(one_sided({{0.4, 0.0}}, 2.0));
    CHECK_FALSE(one_sided({}, 2.0));
}

}  // namespace
}  // namespace frayhold::gauge
