// SPDX-License-Identifier: Apache-2.0
#include "gauge/item_search.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/card_scene.h"
#include "gauge/measured.h"

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

TEST_CASE("A rule that ends near the picture's border ends in sight all the same") {
    render::SceneChoice choice;
    choice.width_px = 2016;
    choice.height_px = 1512;
    choice.framing = render::Framing::card_sixth;
    const render::Scene scene = render::random_scene(4800009, render::SceneKind::webbing, choice);
    const auto track = found(scene);
    REQUIRE(track);
    CHECK(track->width_mm == Approx(scene.webbing->width_mm).margin(6.0));
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

TEST_CASE("A rope that turns on where core of the bench's colour hides it is met again round the bend") {
    render::Scene scene = card_scene(2000, 460, 5.0, 0.4, 0.0);
    constexpr double straight_mm = 320.0, radius_mm = 70.0, hidden_mm = 40.0;
    render::Rope rope;
    rope.sheath = {0.45F, 0.05F, 0.04F};
    rope.line = render::CentreLine({-320.0, 85.0}, 0.0,
                                   {{straight_mm, 0.0}, {0.9 * radius_mm, -1 / radius_mm}, {250.0, 0.0}});
    render::CoreWindow window;
    window.middle_mm = straight_mm + 0.5 * hidden_mm - 5.0;
    window.half_length_mm = 0.5 * hidden_mm;
    window.half_angle = 1.5;
    window.core = {0.18F, 0.20F, 0.19F};
    rope.core = window;
    scene.rope = rope;
    const auto track = find_item(reduced_picture(render::render(scene).bgr),
                                 true_view(scene.view, *scene.card), {Subject::rope, std::nullopt});
    REQUIRE(track);
    // The far end lies beyond the bend, and every point on the rope's own line.
    double before = 0.0, beyond = 0.0;
    for (const cv::Point2d& at : track->centre_mm) {
        const render::Vec2 on_bench{at.x - id1_width_mm / 2, id1_height_mm / 2 - at.y};
        const auto foot = rope.line.foot(on_bench);
        CHECK(std::abs(foot.q) < 6.0);
        before += foot.s < straight_mm - 30.0;
        beyond += foot.s > straight_mm + 60.0;
    }
    CHECK(before > 20);
    CHECK(beyond > 10);
}

namespace {

// A straight rope across the picture, not far from the bench's lightness.
render::Scene rope_scene(const render::Colour& sheath, double diameter_mm) {
    render::Scene scene = card_scene(2000, 460, 5.0, 0.4, 0.0);
    render::Rope rope;
    rope.sheath = sheath;
    rope.diameter_mm = diameter_mm;
    rope.line = render::CentreLine({-800.0, 85.0}, 0.0, {{1600.0, 0.0}});
    scene.rope = rope;
    return scene;
}

std::optional<Track> rope_found(const render::Scene& scene) {
    return find_item(reduced_picture(render::render(scene).bgr), true_view(scene.view, *scene.card),
                     {Subject::rope, std::nullopt});
}

double farthest_from_rope_mm(const Track& track, const render::Rope& rope) {
    double farthest = 0.0;
    for (const cv::Point2d& at : track.centre_mm) {
        const render::Vec2 on_bench{at.x - id1_width_mm / 2, id1_height_mm / 2 - at.y};
        farthest = std::max(farthest, std::abs(rope.line.foot(on_bench).q));
    }
    return farthest;
}

}  // namespace

TEST_CASE(
    "A matt painted rod that stands out from the bench more plainly than the rope is not taken for it") {
    render::Scene scene = rope_scene({0.19F, 0.20F, 0.195F}, 10.0);
    render::Solid rod;
    rod.bars.push_back({{-140.0, -85.0, 5.0}, {60.0, -85.0, 5.0}, 5.0});
    rod.colour = {0.45F, 0.03F, 0.02F};
    rod.texture = 0.01;
    rod.gloss = 0.02;
    scene.solids.push_back(rod);
    const auto track = rope_found(scene);
    REQUIRE(track);
    CHECK(farthest_from_rope_mm(*track, *scene.rope) < 5.0);
}

TEST_CASE(
    "A ring as rough as a rope, cut off by the picture, is not taken for it: it comes round upon itself") {
    render::Scene scene = rope_scene({0.19F, 0.20F, 0.195F}, 10.0);
    scene.light.towards = {0.6, 0.06, 0.8};
    render::Solid ring;
    // Two straight sides and two half circles.
    constexpr double radius_mm = 5.0, half_side_mm = 35.0, turn_mm = 22.0,
                     degree = 3.14159265358979323846 / 180;
    const auto corner = [](int i) {
        const bool first = i % 32 < 16;
        const double turn = 12 * degree * (first ? i % 32 : i % 32 - 1),
                     side = first ? half_side_mm : -half_side_mm;
        return render::Vec3{-90.0 + turn_mm * std::cos(turn), -298.0 + side + turn_mm * std::sin(turn),
                            radius_mm};
    };
    for (int i = 0; i < 32; ++i) ring.bars.push_back({corner(i), corner(i + 1), radius_mm});
    ring.blend_mm = 0.2;
    ring.colour = {0.35F, 0.05F, 0.03F};
    ring.gloss = 0.9;
    ring.texture = 0.3;
    scene.solids.push_back(ring);
    const auto track = rope_found(scene);
    REQUIRE(track);
    CHECK(farthest_from_rope_mm(*track, *scene.rope) < 5.0);
}

TEST_CASE("A grey rope and its shadow on grey concrete are not measured as one") {
    render::Scene scene = rope_scene({0.27F, 0.275F, 0.254F}, 8.5);
    scene.bench.sort = render::BenchSort::concrete;
    scene.bench.light = {0.54F, 0.50F, 0.43F};
    scene.bench.dark = {0.16F, 0.15F, 0.13F};
    scene.light.towards = {0.0, -0.893, 0.45};
    scene.light.half_angle = 0.1;
    const Report report = measured(scene);
    const Reading* width = reading_of(report.readings, Measurand::sound_width);
    REQUIRE(width != nullptr);
    CHECK(std::abs(width->value - scene.rope->diameter_mm) < width->U);
}

}  // namespace frayhold::gauge
