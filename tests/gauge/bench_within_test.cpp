// SPDX-License-Identifier: Apache-2.0
#include "gauge/bench_within.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/core.hpp>
#include <utility>

#include "gauge/card_scene.h"
#include "gauge/drawn_stations.h"
#include "gauge/measured.h"

namespace frayhold::gauge {
namespace {

constexpr double mm_per_px = 0.1, half_mm = 4.0;
constexpr int stations = 90, middle = 120;

// A rough grey braid from -half_mm to half_mm, on a smooth grey bench whose shadow lies to the right of it.
StationLight grey_on_grey() {
    return drawn_stations(stations, middle, mm_per_px, cv::RNG(3), [](double across, cv::RNG& random) {
        const bool braid = std::abs(across) < half_mm;
        const double lit = braid ? 0.2 - 0.03 * across : across > 0 && across < 11.0 ? 0.1 : 0.25;
        return DrawnLook{cv::Vec3d::all(lit * (1 + random.gaussian(braid ? 0.1 : 0.02))), braid ? 0.08 : 0.02,
                         0.3};
    });
}

std::vector<LimbPair> limbs_at(double left_mm, double right_mm) {
    std::vector<LimbPair> pairs;
    for (std::size_t s = 4; s + 4 < stations; s += 3) pairs.push_back({s, left_mm, right_mm, 1.0});
    return pairs;
}

Strip empty_strip() {
    Strip strip;
    strip.mm_per_px = mm_per_px;
    strip.middle = middle;
    strip.bgr.create(1, 2 * middle + 1, CV_8UC3);
    return strip;
}

std::ptrdiff_t found(double left_mm, double right_mm) {
    const auto flags = bench_within(empty_strip(), grey_on_grey(), limbs_at(left_mm, right_mm));
    return std::count(flags.begin(), flags.end(), char{1});
}

// Where the look changes from the bench's, within either limb.
std::pair<double, double> ends_within_mm(double left_mm, double right_mm) {
    const auto pairs = limbs_at(left_mm, right_mm);
    return {bench_ends_within_mm(empty_strip(), grey_on_grey(), pairs, true).value(),
            bench_ends_within_mm(empty_strip(), grey_on_grey(), pairs, false).value()};
}

}  // namespace

TEST_CASE("Within the rope's own limbs no bench shows, however it is shaded") {
    CHECK(found(-half_mm, half_mm) == 0);
}

TEST_CASE("Where the border of a shadow was taken for a limb the bench shows within it") {
    CHECK(found(-half_mm, 7.5) == static_cast<std::ptrdiff_t>(limbs_at(0, 1).size()));
    CHECK(found(-7.0, half_mm) == static_cast<std::ptrdiff_t>(limbs_at(0, 1).size()));
}

TEST_CASE("A narrow shadow taken for rope is told by where the bench's look ends") {
    CHECK(ends_within_mm(-half_mm, half_mm).first == Approx(0.0).margin(0.15));
    CHECK(ends_within_mm(-half_mm, half_mm).second == Approx(0.0).margin(0.15));
    CHECK(ends_within_mm(-4.4, 4.7).first == Approx(0.4).margin(0.15));
    CHECK(ends_within_mm(-4.4, 4.7).second == Approx(0.7).margin(0.15));
    CHECK(ends_within_mm(-3.5, half_mm).first == Approx(-0.5).margin(0.15));
}

TEST_CASE("Where the rope's shaded side was taken for bench, sheath goes on beyond the limb") {
    CHECK(ends_within_mm(-half_mm, 1.0).second < -1.0);
    CHECK(ends_within_mm(-1.0, half_mm).first < -1.0);
}

TEST_CASE("The shadow at the foot of a grey rope on a smooth grey bench is not taken for rope") {
    render::Scene scene = card_scene(2000, 460, 5.0, 0.4, 0.0);
    render::Rope rope;
    rope.sheath = {0.17F, 0.18F, 0.175F};
    rope.diameter_mm = 10.0;
    rope.line = render::CentreLine({-800.0, 85.0}, 0.0, {{1600.0, 0.0}});
    scene.rope = rope;
    const Report report = measured(scene);
    // Told within its uncertainty, or not at all and said so.
    if (const Reading* width = reading_of(report.readings, Measurand::sound_width))
        CHECK(std::abs(width->value - rope.diameter_mm) < width->U);
    else
        CHECK_FALSE(report.remarks.empty());
}

}  // namespace frayhold::gauge
