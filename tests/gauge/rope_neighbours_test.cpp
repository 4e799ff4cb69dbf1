// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_neighbours.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "gauge/measured.h"
#include "render/camera_view.h"
#include "render/placing.h"
#include "render/scene.h"

namespace frayhold::gauge {
namespace {

using render::LinePiece;
using render::Vec2;

// A rope that runs through a place of the bench along a heading, half its thickness apart from itself and
// more.
using Lay = std::function<render::CentreLine(render::Random&, Vec2 at, double heading_rad, double lay_mm)>;

constexpr double out_of_sight_mm = 1200.0;

// Half circles, each half a lay wider than the last, and a tail that runs out of the picture.
render::CentreLine coil(render::Random& random, Vec2 at, double heading_rad, double lay_mm) {
    const double inner_mm = random.uniform(40.0, 100.0);
    std::vector<LinePiece> pieces;
    const int half_turns = random.integer(4, 14);
    for (int i = 0; i < half_turns; ++i) {
        const double radius_mm = inner_mm + 0.5 * lay_mm * i;
        pieces.push_back({std::numbers::pi * radius_mm, 1 / radius_mm});
    }
    pieces.push_back({out_of_sight_mm, 0.0});
    const Vec2 way = render::heading(heading_rad);
    return {at + Vec2{inner_mm * way.y, -inner_mm * way.x}, heading_rad, pieces};
}

// There, back and there again.
render::CentreLine side_by_side(render::Random& random, Vec2 at, double heading_rad, double lay_mm) {
    std::vector<LinePiece> pieces{{out_of_sight_mm, 0.0}};
    const int bends = random.integer(1, 2);
    double way = 1.0;
    for (int i = 0; i < bends; ++i) {
        pieces.push_back({std::numbers::pi * lay_mm / 2, 2 * way / lay_mm});
        pieces.push_back({i + 1 == bends ? out_of_sight_mm : 2 * out_of_sight_mm, 0.0});
        way = -way;
    }
    const render::CentreLine from_start({0.0, 0.0}, heading_rad, pieces);
    return {at - from_start.at(out_of_sight_mm - random.uniform(100.0, 500.0)), heading_rad, pieces};
}

// In any light, on any bench, near or far, the card somewhere beside it.
render::Scene scene_of(std::uint64_t seed, const Lay& lay) {
    render::SceneChoice choice;
    choice.width_px = 2016;
    choice.height_px = 1512;
    choice.clutter = false;
    render::Random random(seed);
    for (std::uint64_t attempt = 0;; ++attempt) {
        choice.framing = random.chance(0.7) ? render::Framing::card_sixth : render::Framing::anywhere;
        render::Scene scene = render::random_scene(100 * seed + attempt, render::SceneKind::rope, choice);
        const render::Projection projection(scene.view);
        const Vec2 at = render::plan(projection.on_plane(random.uniform(0.25, 0.75) * choice.width_px,
                                                         random.uniform(0.25, 0.75) * choice.height_px));
        constexpr double turn = 2 * std::numbers::pi;
        const double diameter_mm = scene.rope->diameter_mm;
        scene.rope->line =
            lay(random, at, random.uniform(0.0, turn), diameter_mm * random.uniform(1.0, 1.12));
        const double apart_mm = diameter_mm / 2 + random.uniform(6.0, 25.0);
        if (render::place_card(random, *scene.card, projection, scene.rope->line, apart_mm)) return scene;
    }
}

bool told_of_others(const Report& report) {
    return std::any_of(report.remarks.begin(), report.remarks.end(), [](const std::string& remark) {
        return remark.find("other lengths lie against the rope") != std::string::npos;
    });
}

// Nothing but the width of a length that lies by itself may be read. Gives whether one is read that is not
// true.
bool reads_wrong_width(const Report& report, double diameter_mm) {
    bool wrong = false;
    for (const Reading& reading : report.readings) {
        INFO(name_of(reading.measurand) << " " << reading.value << " ± " << reading.U);
        REQUIRE(reading.measurand == Measurand::sound_width);
        wrong = std::abs(reading.value - diameter_mm) > reading.U;
    }
    return wrong;
}

struct Tally {
    int told = 0, wrong_widths = 0;
};
Tally tally_of(std::uint64_t first_seed, std::uint64_t last_seed, const Lay& lay) {
    Tally tally;
    for (std::uint64_t seed = first_seed; seed <= last_seed; ++seed) {
        INFO("seed " << seed);
        const render::Scene scene = scene_of(seed, lay);
        const Report report = measured(scene);
        tally.wrong_widths += reads_wrong_width(report, scene.rope->diameter_mm);
        tally.told += told_of_others(report);
    }
    return tally;
}

}  // namespace

TEST_CASE("A coil shows no core, no fray and no local width", "[rope_neighbours]") {
    const Tally tally = tally_of(301, 312, coil);
    CHECK(tally.told >= 6);
    // Two of the twelve lie on a bench of their own colour, where neighbours cannot be told and a width may
    // be wrong.
    CHECK(tally.wrong_widths <= 2);
}

TEST_CASE("Lengths side by side show no core, no fray and no width of them all", "[rope_neighbours]") {
    const Tally tally = tally_of(331, 336, side_by_side);
    CHECK(tally.told >= 4);
    CHECK(tally.wrong_widths <= 1);
}

TEST_CASE("A rope that lies by itself is read as ever", "[rope_neighbours]") {
    for (const render::SceneKind kind : {render::SceneKind::rope, render::SceneKind::core_rope})
        for (std::uint64_t seed = 351; seed <= 353; ++seed) {
            INFO("seed " << seed);
            render::SceneChoice choice;
            choice.width_px = 2016;
            choice.height_px = 1512;
            choice.framing = render::Framing::card_sixth;
            const Report report = measured(render::random_scene(seed, kind, choice));
            CHECK_FALSE(told_of_others(report));
            CHECK(std::any_of(report.readings.begin(), report.readings.end(),
                              [](const Reading& r) { return r.measurand == Measurand::sound_width; }));
        }
}

TEST_CASE("A heavy fray is no other length beside the rope", "[rope_neighbours]") {
    // For some breadth beyond the limb these fibres hide as much of the bench as a second rope would.
    constexpr std::uint64_t heavy = 5'300'004;
    const Report report = measured(render::random_scene(heavy, render::SceneKind::frayed_rope,
                                                        {.framing = render::Framing::straight_above}));
    CHECK_FALSE(told_of_others(report));
    CHECK(std::any_of(report.readings.begin(), report.readings.end(),
                      [](const Reading& r) { return r.measurand == Measurand::fray_width; }));
}

}  // namespace frayhold::gauge
