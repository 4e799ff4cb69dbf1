// SPDX-License-Identifier: Apache-2.0
#include "gauge/item_search.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/card_scene.h"

namespace frayhold::gauge {
namespace {

constexpr double web_width_mm = 40.0;
constexpr double web_y_mm = 85.0;  // in the renderer's bench, the card's middle at its origin

// Wide webbing that runs out of the picture on both sides, of a colour not far from the bench's.
render::Scene webbing_scene() {
    render::Scene scene = card_scene(2000, 460, 12.0, 0.4, 0.0);
    render::Webbing web;
    web.width_mm = web_width_mm;
    web.base = web.stripe = web.thread = {0.13F, 0.15F, 0.19F};
    web.line = render::CentreLine({-800.0, web_y_mm}, 0.0, {{1600.0, 0.0}});
    scene.webbing = web;
    return scene;
}

// A bright steel rule, both ends in sight.
render::Flat rule(double y_mm) {
    render::Flat flat;
    flat.sort = render::Flat::Sort::steel_rule;
    flat.middle = {0.0, y_mm};
    flat.width_mm = 312.0;
    flat.height_mm = 26.0;
    flat.thickness_mm = 1.0;
    flat.paper = {0.42F, 0.43F, 0.44F};
    return flat;
}

std::optional<Track> found(const render::Scene& scene) {
    return find_item(reduced_picture(render::render(scene).bgr), true_view(scene.view, *scene.card),
                     {Subject::webbing, std::nullopt});
}

void check_is_webbing(const std::optional<Track>& track) {
    REQUIRE(track);
    CHECK(track->width_mm == Approx(web_width_mm).margin(6.0));
    // The card's own frame has its origin at a corner and y down.
    for (const cv::Point2d& at : track->centre_mm)
        CHECK(at.y == Approx(id1_height_mm / 2 - web_y_mm).margin(6.0));
}

}  // namespace

TEST_CASE("What runs out of the picture is the item, not a rule that ends within it") {
    render::Scene scene = webbing_scene();
    check_is_webbing(found(scene));
    scene.flats.push_back(rule(-70.0));
    check_is_webbing(found(scene));
}

TEST_CASE("Many plain places along plainer things leave the item to be looked at") {
    render::Scene scene = webbing_scene();
    scene.flats.push_back(rule(-70.0));
    scene.flats.push_back(rule(-125.0));
    check_is_webbing(found(scene));
}

TEST_CASE("A rule alone is what is found") {
    render::Scene scene = card_scene(2000, 460, 12.0, 0.4, 0.0);
    scene.flats.push_back(rule(-70.0));
    const auto track = found(scene);
    REQUIRE(track);
    CHECK(track->width_mm == Approx(26.0).margin(4.0));
}

}  // namespace frayhold::gauge
