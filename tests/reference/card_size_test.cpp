// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <catch2/catch.hpp>
#include <vector>

#include "gauge/card_design.h"

namespace {

using frayhold::gauge::card_markers;
using frayhold::gauge::card_patches;
using frayhold::gauge::CardMarker;
using frayhold::gauge::CardPatch;
using frayhold::gauge::id1_corner_radius_mm;
using frayhold::gauge::id1_height_mm;
using frayhold::gauge::id1_width_mm;
using frayhold::gauge::marker_side_mm;
using frayhold::gauge::tick_count_mm;
using frayhold::gauge::tick_start_mm;

// ISO/IEC 7810:2019, 5.1, card type ID-1, from memory: an unused card lies within these sizes, in
// millimetres.
constexpr double least_width = 85.47;
constexpr double greatest_width = 85.72;
constexpr double least_height = 53.92;
constexpr double greatest_height = 54.03;
constexpr double least_radius = 2.88;
constexpr double greatest_radius = 3.48;

TEST_CASE("The card of card_design.h is an ID-1 card by ISO/IEC 7810") {
    CHECK(id1_width_mm >= least_width);
    CHECK(id1_width_mm <= greatest_width);
    CHECK(id1_height_mm >= least_height);
    CHECK(id1_height_mm <= greatest_height);
    CHECK(id1_corner_radius_mm >= least_radius);
    CHECK(id1_corner_radius_mm <= greatest_radius);
    // The nominal size is that of the standard's note: 3.370 x 2.125 inches.
    CHECK(id1_width_mm == Approx(3.370 * 25.4).margin(0.005));
    CHECK(id1_height_mm == Approx(2.125 * 25.4).margin(0.006));
    CHECK(id1_corner_radius_mm == Approx(0.125 * 25.4).margin(0.006));
}

TEST_CASE("Everything printed on the card lies on the card, clear of its rounded corners") {
    for (const CardPatch& patch : card_patches()) {
        CAPTURE(patch.rect_mm);
        CHECK(patch.rect_mm.x >= 0.0);
        CHECK(patch.rect_mm.y >= 0.0);
        CHECK(patch.rect_mm.br().x <= id1_width_mm + 1e-9);
        CHECK(patch.rect_mm.br().y <= id1_height_mm + 1e-9);
    }
    for (const CardMarker& marker : card_markers()) {
        CHECK(marker.top_left_mm.x >= id1_corner_radius_mm);
        CHECK(marker.top_left_mm.y >= id1_corner_radius_mm);
        CHECK(marker.top_left_mm.x + marker_side_mm <= id1_width_mm - id1_corner_radius_mm);
        CHECK(marker.top_left_mm.y + marker_side_mm <= id1_height_mm - id1_corner_radius_mm);
    }
}

TEST_CASE("The checked ticks are a whole number of millimetres apart") {
    std::vector<double> middles;
    for (const CardPatch& patch : card_patches())
        if (patch.rect_mm.width < 0.5 && patch.rect_mm.height < 5.0)
            middles.push_back(patch.rect_mm.x + patch.rect_mm.width / 2);
    std::sort(middles.begin(), middles.end());
    REQUIRE(middles.size() == static_cast<std::size_t>(tick_count_mm) + 1);
    CHECK(middles.front() == Approx(tick_start_mm));
    for (std::size_t i = 1; i < middles.size(); ++i) CHECK(middles[i] - middles[i - 1] == Approx(1.0));
}

}  // namespace
