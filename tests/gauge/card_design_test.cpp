// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_design.h"

#include <catch2/catch.hpp>
#include <set>

namespace frayhold::gauge {
namespace {

// The grey printed at a place of the card: the last patch that covers it, else white.
int grey_at(const std::vector<CardPatch>& patches, cv::Point2d mm) {
    int grey = 255;
    for (const CardPatch& patch : patches)
        if (patch.rect_mm.contains(mm)) grey = patch.grey;
    return grey;
}

}  // namespace

// ISO/IEC 7810, ID-1: 85.60 x 53.98 mm, corner radius 3.18 mm.
TEST_CASE("The card has the standard's size and everything printed lies on it") {
    CHECK(id1_width_mm == 85.60);
    CHECK(id1_height_mm == 53.98);
    CHECK(id1_corner_radius_mm == 3.18);
    const cv::Rect2d card(0, 0, id1_width_mm, id1_height_mm);
    for (const CardPatch& patch : card_patches()) CHECK((patch.rect_mm & card) == patch.rect_mm);
    for (const cv::Rect2d& area : {hold_number_area_mm, name_area_mm})
        for (const CardPatch& patch : card_patches()) CHECK((patch.rect_mm & area).area() == 0);
}

TEST_CASE("Every edge to be fitted lies where print changes, light on the left, as far clear as stated") {
    const auto patches = card_patches();
    const auto edges = card_edges();
    CHECK(edges.size() > 40);
    for (const CardEdge& edge : edges) {
        const double length = cv::norm(edge.to_mm - edge.from_mm);
        REQUIRE(length > 1.0);
        const cv::Point2d along = (edge.to_mm - edge.from_mm) / length;
        const cv::Point2d to_light(along.y, -along.x);
        for (double at = 0; at <= length; at += 0.1)
            for (const double off : {0.01, 0.45 * edge.clearance_mm, 0.98 * edge.clearance_mm}) {
                const cv::Point2d p = edge.from_mm + along * at;
                INFO("edge from " << edge.from_mm.x << ", " << edge.from_mm.y << " at " << at << " off "
                                  << off);
                CHECK(grey_at(patches, p + to_light * off) == 255);
                CHECK(grey_at(patches, p - to_light * off) == 0);
            }
    }
}

TEST_CASE("The four markers differ and lie in their own quarters, in turn") {
    const auto markers = card_markers();
    std::set<int> ids;
    for (const CardMarker& marker : markers) ids.insert(marker.id);
    CHECK(ids.size() == 4);
    const cv::Point2d middle(id1_width_mm / 2, id1_height_mm / 2),
        half(marker_side_mm / 2, marker_side_mm / 2);
    const std::array<cv::Point2d, 4> quarters{cv::Point2d(-1, -1), {1, -1}, {1, 1}, {-1, 1}};
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d d = markers[i].top_left_mm + half - middle;
        CHECK(d.x * quarters[i].x > 0);
        CHECK(d.y * quarters[i].y > 0);
    }
}

TEST_CASE("The rule's ticks stand a millimetre apart") {
    std::set<int> tenths;
    for (const CardPatch& patch : card_patches())
        if (patch.rect_mm.width < 0.25)
            tenths.insert(cvRound((patch.rect_mm.x + patch.rect_mm.width / 2 - tick_start_mm) * 1000));
    REQUIRE(tenths.size() == tick_count_mm + 1);
    int expected = 0;
    for (const int at : tenths) CHECK(at == 1000 * expected++);
}

}  // namespace frayhold::gauge
