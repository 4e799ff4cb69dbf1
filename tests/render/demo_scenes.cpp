// SPDX-License-Identifier: Apache-2.0
#include "render/demo_scenes.h"

#include <cmath>
#include <numbers>
#include <utility>

#include "render/camera_view.h"
#include "render/loose_fibres.h"
#include "render/scene_parts.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

constexpr double degree = std::numbers::pi / 180.0;
constexpr double out_of_sight_mm = 1200.0;

struct Aim {
    double distance_mm, tilt_deg, azimuth_deg, roll_deg;
    bool portrait = false;
    double k1 = 0.006, k2 = -0.001;
};

View phone_view(const Aim& aim) {
    const int width = aim.portrait ? 3024 : 4032;
    const int height = aim.portrait ? 4032 : 3024;
    View view = look_at_bench(width, height, 26.0, aim.distance_mm, aim.tilt_deg * degree,
                              aim.azimuth_deg * degree, aim.roll_deg * degree);
    view.focal_px *= 1.004;  // the phone states 26 mm; this one is a little longer
    view.k1 = aim.k1;
    view.k2 = aim.k2;
    return view;
}

Light lamp(double azimuth_deg, double elevation_deg, double ambient, double half_angle_deg, double paper,
           float warm) {
    Light light;
    const double e = elevation_deg * degree;
    const Vec2 side = heading(azimuth_deg * degree);
    light.towards = {std::cos(e) * side.x, std::cos(e) * side.y, std::sin(e)};
    light.ambient = ambient;
    light.half_angle = half_angle_deg * degree;
    light.tint = {1.F + warm, 1.F, 1.F - 1.2F * warm};
    light.exposure = paper / (0.85 * (ambient + light.key * light.towards.z));
    return light;
}

Bench bench_of(BenchSort sort, unsigned light, unsigned dark, double heading_deg, double gloss = 0.0) {
    Bench bench;
    bench.sort = sort;
    bench.light = colour_of(light);
    bench.dark = colour_of(dark);
    bench.heading = heading_deg * degree;
    bench.offset_mm = {137.0, 61.0};
    bench.gloss = gloss;
    return bench;
}

Bench workbench(double heading_deg) {
    return bench_of(BenchSort::wood, 0xC79C6AU, 0x6E4526U, heading_deg, 0.03);
}
Bench planed_board(double heading_deg) {
    return bench_of(BenchSort::wood, 0xD9BD92U, 0x9A7446U, heading_deg, 0.02);
}
Bench blanket() {
    return bench_of(BenchSort::fleece, 0x6E7F8CU, 0x2C3A46U, 25.0);
}
Bench depot_floor() {
    return bench_of(BenchSort::concrete, 0xB9B6AEU, 0x716E68U, 10.0);
}
Bench green_table() {
    return bench_of(BenchSort::table, 0x6C7A74U, 0x48544FU, 0.0, 0.05);
}

Flat card_at(Vec2 at, double heading_deg, const std::string& hold) {
    Flat card;
    card.middle = at;
    card.heading = heading_deg * degree;
    card.lines = {"HOLD " + hold, "REFERENCE CARD 85.60 x 53.98", "CHECK THE TICKS WITH A STEEL RULE"};
    return card;
}

// Through `at`, running out of sight both ways.
CentreLine straight_through(Vec2 at, double heading_deg) {
    const Vec2 way = heading(heading_deg * degree);
    return {at - out_of_sight_mm * way, heading_deg * degree, {{2 * out_of_sight_mm, 0.0}}};
}

// Arbolane 11 of Brandel & Voss Ropeworks: 11 mm as sold, orange with black and yellow tracers.
Rope arbolane(double diameter_mm) {
    Rope rope;
    rope.diameter_mm = diameter_mm;
    rope.yarns_a_way = 20;
    rope.pitch_mm = 48.0;
    rope.float_cells = 2;
    rope.sheath = colour_of(0xD4541FU);
    const Colour black = colour_of(0x1C1E22U);
    const Colour yellow = colour_of(0xE0B93CU);
    rope.tracers = {{0, 3, black}, {0, 4, black}, {1, 11, yellow}};
    rope.soil = 0.22;
    return rope;
}

Rope blue_arbolane(double diameter_mm) {
    Rope rope = arbolane(diameter_mm);
    rope.sheath = colour_of(0x2A5A9CU);
    const Colour white = colour_of(0xE8E4DAU);
    rope.tracers = {{0, 6, white}, {1, 6, white}, {0, 16, colour_of(0xD23C34U)}};
    return rope;
}

Webbing broadleaf() {
    Webbing web;
    web.width_mm = 25.3;
    web.thickness_mm = 2.3;
    web.base = colour_of(0x2F6B4AU);
    web.stripe = colour_of(0xE0B93CU);
    web.thread = colour_of(0xEDE9DEU);
    web.stripe_width_mm = 1.6;
    web.stripe_inset_mm = 2.2;
    web.rib_mm = 1.0;
    web.soil = 0.15;
    return web;
}

class Album {
  public:
    DemoPhoto& add(std::string file, std::string item, std::string subject, std::string view,
                   int orientation) {
        DemoPhoto photo;
        photo.file = std::move(file);
        photo.item = std::move(item);
        photo.subject = std::move(subject);
        photo.view = std::move(view);
        const auto number = static_cast<int>(photos_.size());
        photo.scene.seed = 4100 + static_cast<std::uint64_t>(number);
        photo.scene.sensor.blur_px = 0.75;
        photo.scene.sensor.shot = 4e-5;
        photo.scene.sensor.read = 0.0012;
        photo.exif.make = "Ashmeer Optics";
        photo.exif.model = "Field 3";
        photo.exif.focal_mm = 5.6;
        photo.exif.focal_35mm = 26;
        const std::string minute = std::to_string(10 + 3 * number);
        photo.exif.taken = "2026:02:28 09:" + minute + ":20";
        photo.exif.latitude_deg = 44.120 + 0.001 * number;
        photo.exif.longitude_deg = -27.450;
        photo.exif.owner = "Ida Fenwright";
        photo.exif.orientation = orientation;
        photos_.push_back(std::move(photo));
        return photos_.back();
    }
    [[nodiscard]] std::vector<DemoPhoto> take() { return std::move(photos_); }

  private:
    std::vector<DemoPhoto> photos_;
};

const std::string climbing_rope = "KT-R014, rope Arbolane 11, 45 m, orange";
const std::string rigging_rope = "KT-R022, rope Arbolane 11, 30 m, blue";
const std::string white_rope = "KT-R007, rope, 40 m, white";
const std::string sling = "KT-S031, sewn sling Broadleaf 25, green";

// The frayed spot of KT-R014 as it lies on the depot floor: both views show the same fibres.
struct FrayedSpot {
    Rope rope;
    std::vector<Hair> hairs;
};

FrayedSpot frayed_spot() {
    FrayedSpot spot;
    spot.rope = arbolane(11.2);
    spot.rope.line = straight_through({-6.0, 4.0}, 17.0);
    FrayRecipe recipe;
    recipe.middle_mm = out_of_sight_mm;
    recipe.half_length_mm = 17.0;
    recipe.middle_angle = 0.15;
    recipe.spread_angle = 1.1;
    recipe.count_per_mm = 62.0;
    recipe.mean_length_mm = 4.0;
    Random random(1417);
    spot.hairs = frayed_sheath(random, spot.rope, recipe);
    spot.rope.fluffed = Stretch{out_of_sight_mm, 12.0, 7.0};
    spot.rope.fluffed_angle = recipe.middle_angle;
    return spot;
}

void show_frayed_spot(Scene& scene) {
    const FrayedSpot spot = frayed_spot();
    scene.kind = SceneKind::frayed_rope;
    scene.rope = spot.rope;
    scene.hairs = spot.hairs;
    scene.fibre = paled(spot.rope.sheath, 0.30F);
    scene.nominal_mm = 11.0;
    scene.bench = depot_floor();
}

// A flat coil: half circles, each a little wider than the last.
CentreLine flat_coil(Vec2 start, double heading_rad, double inner_mm, double lay_mm, int half_turns,
                     double tail_mm) {
    std::vector<LinePiece> pieces;
    for (int i = 0; i < half_turns; ++i) {
        const double radius = inner_mm + 0.5 * lay_mm * i;
        pieces.push_back({std::numbers::pi * radius, 1.0 / radius});
    }
    pieces.push_back({tail_mm, 0.0});
    return {start, heading_rad, pieces};
}

void add_case_views(Album& album) {
    {
        DemoPhoto& photo = album.add("arbolane-label.jpg", climbing_rope, "rope", "label", 1);
        photo.shows = "The printed sleeve at the rope's end, readable; no card, no damage.";
        photo.expectation = "record_only";
        photo.why = "A label is read, not measured.";
        Scene& scene = photo.scene;
        scene.view = phone_view({150.0, 12.0, 266.0, 4.0});
        scene.light = lamp(120.0, 58.0, 0.6, 8.0, 0.80, 0.02F);
        scene.bench = workbench(8.0);
        Rope rope = arbolane(11.2);
        rope.line = CentreLine({-400.0, -2.0}, 0.02, {{470.0, 0.0}});
        Sleeve sleeve;
        sleeve.middle_mm = 405.0;
        sleeve.half_length_mm = 48.0;
        sleeve.lines = {"BRANDEL & VOSS ROPEWORKS", "ARBOLANE 11  EN 1891 A  45 m",
                        "SN KT-0417-22  MADE 2022-04"};
        rope.sleeve = sleeve;
        scene.rope = rope;
        scene.nominal_mm = 11.0;
    }
    {
        DemoPhoto& photo = album.add("arbolane-whole.jpg", climbing_rope, "rope", "whole item", 3);
        photo.shows = "The rope laid in a flat coil on the depot floor, the card beside it.";
        photo.expectation = "record_only";
        photo.why = "Shows which item it is; the damage is measured on the close views.";
        Scene& scene = photo.scene;
        scene.view = phone_view({620.0, 9.0, 300.0, 12.0});
        scene.light = lamp(215.0, 50.0, 0.55, 6.0, 0.76, 0.0F);
        scene.light.bands.push_back({0.5, 120.0, 55.0, 14.0, 0.25});
        scene.bench = depot_floor();
        Rope rope = arbolane(11.2);
        rope.line = flat_coil({-60.0, -30.0}, -1.2, 62.0, 12.4, 17, 600.0);
        scene.rope = rope;
        scene.nominal_mm = 11.0;
        scene.card = card_at({225.0, -120.0}, 14.0, "0417");
        Random random(14);
        scene.solids.push_back(gloved_hand(random, {250.0, 190.0}, -2.5));
    }
    {
        DemoPhoto& photo = album.add("arbolane-fray-near-side.jpg", climbing_rope, "rope", "damage", 6);
        photo.shows = "Broken sheath fibres over about 3 cm, seen from the near side.";
        photo.expectation = "measured";
        photo.why = "Card flat beside the rope, sharp, no glare.";
        Scene& scene = photo.scene;
        show_frayed_spot(scene);
        scene.view = phone_view({285.0, 20.0, 262.0, 12.0, true});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
        scene.card = card_at({18.0, -74.0}, 9.0, "0417");
        Random random(3);
        Flat rule = steel_rule(random);
        rule.middle = {-36.0, 82.0};
        rule.heading = 0.42;
        scene.flats.push_back(rule);
    }
    {
        DemoPhoto& photo =
            album.add("arbolane-fray-far-side.jpg", climbing_rope, "rope", "damage, other side", 1);
        photo.shows =
            "The same spot of the same rope from the other side; the card lies on the other side too.";
        photo.expectation = "measured";
        photo.why = "Same fibres as in arbolane-fray-near-side.jpg, so the same true widths.";
        Scene& scene = photo.scene;
        show_frayed_spot(scene);
        scene.view = phone_view({290.0, 24.0, 84.0, 5.0});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
        scene.card = card_at({42.0, 70.0}, 171.0, "0417");
        Random random(5);
        scene.solids.push_back(metal_ring(random, {-112.0, 76.0}, 1.1));
    }
}

void add_other_damage(Album& album) {
    {
        DemoPhoto& photo = album.add("arbolane-core.jpg", rigging_rope, "rope", "damage", 8);
        photo.shows = "A hole in the sheath: white core bundles show, the rim is torn.";
        photo.expectation = "measured";
        photo.why = "Core seen is a reason to retire whatever its size.";
        Scene& scene = photo.scene;
        scene.kind = SceneKind::core_rope;
        scene.view = phone_view({300.0, 14.0, 40.0, 60.0, true});
        scene.light = lamp(330.0, 52.0, 0.5, 6.0, 0.76, 0.0F);
        scene.bench = planed_board(70.0);
        Rope rope = blue_arbolane(11.3);
        rope.line = straight_through({10.0, 22.0}, 128.0);
        CoreWindow window;
        window.middle_mm = out_of_sight_mm;
        window.half_length_mm = 10.5;
        window.middle_angle = 0.1;
        window.half_angle = 0.75;
        window.edge_seed = 5;
        rope.core = window;
        rope.fluffed = Stretch{out_of_sight_mm, 9.0, 6.0};
        Random random(61);
        scene.hairs = torn_rim(random, rope, window, 240);
        scene.fibre = paled(rope.sheath, 0.30F);
        scene.rope = rope;
        scene.nominal_mm = 11.0;
        scene.card = card_at({-52.0, -34.0}, 131.0, "0418");
    }
    {
        DemoPhoto& photo = album.add("arbolane-flattened.jpg", rigging_rope, "rope", "damage", 2);
        photo.shows = "A flat spot: the rope is wider over about 5 cm, the sheath whole.";
        photo.expectation = "measured";
        photo.why = "Local width grows without loose fibres.";
        Scene& scene = photo.scene;
        scene.kind = SceneKind::flattened_rope;
        scene.view = phone_view({360.0, 17.0, 310.0, 200.0});
        scene.light = lamp(160.0, 40.0, 0.55, 9.0, 0.74, -0.02F);
        scene.bench = blanket();
        Rope rope = blue_arbolane(11.3);
        rope.line = straight_through({0.0, -14.0}, 171.0);
        rope.flattened = Stretch{out_of_sight_mm, 20.0, 11.0};
        rope.flattened_share = 0.19;
        scene.rope = rope;
        scene.nominal_mm = 11.0;
        scene.card = card_at({-40.0, 62.0}, 166.0, "0418");
    }
    {
        DemoPhoto& photo = album.add("arbolane-glazed.jpg", climbing_rope, "rope", "damage", 4);
        photo.shows = "A length of about 6 cm with a glassy, darkened sheath from heat.";
        photo.expectation = "measured";
        photo.why = "The sound width can be measured; the glazed length is marked by hand.";
        Scene& scene = photo.scene;
        scene.view = phone_view({340.0, 21.0, 110.0, 96.0});
        scene.light = lamp(95.0, 47.0, 0.45, 5.0, 0.74, 0.01F);
        scene.bench = workbench(31.0);
        Rope rope = arbolane(11.2);
        rope.line = CentreLine({-out_of_sight_mm, -10.0}, 0.03,
                               {{out_of_sight_mm + 60.0, 0.0}, {70.0, 1.0 / 160.0}, {out_of_sight_mm, 0.0}});
        rope.glazed = Stretch{out_of_sight_mm, 30.0, 6.0};
        scene.rope = rope;
        scene.nominal_mm = 11.0;
        scene.card = card_at({-18.0, -86.0}, -7.0, "0417");
    }
    {
        DemoPhoto& photo = album.add("white-rope-core.jpg", white_rope, "rope", "damage", 1);
        photo.shows = "White core in a white sheath: a hole that colour alone does not give away.";
        photo.expectation = "measured";
        photo.why = "The widths can be measured; whether core shows cannot be told by colour.";
        Scene& scene = photo.scene;
        scene.kind = SceneKind::core_rope;
        scene.view = phone_view({320.0, 12.0, 20.0, 280.0});
        scene.light = lamp(240.0, 44.0, 0.5, 7.0, 0.72, 0.02F);
        scene.bench = green_table();
        Rope rope = arbolane(10.4);
        rope.sheath = {0.74F, 0.73F, 0.70F};
        rope.tracers = {{0, 2, colour_of(0x2C6FB0U)}};
        rope.soil = 0.12;
        rope.line = straight_through({0.0, 20.0}, 96.0);
        CoreWindow window;
        window.middle_mm = out_of_sight_mm;
        window.half_length_mm = 8.0;
        window.middle_angle = -0.15;
        window.half_angle = 0.65;
        window.edge_seed = 8;
        window.core = {0.76F, 0.75F, 0.72F};
        rope.core = window;
        rope.fluffed = Stretch{out_of_sight_mm, 7.0, 4.0};
        Random random(62);
        scene.hairs = torn_rim(random, rope, window, 130);
        scene.fibre = paled(rope.sheath, 0.30F);
        scene.rope = rope;
        scene.nominal_mm = 10.5;
        scene.card = card_at({-88.0, -8.0}, 85.0, "0419");
    }
}

void add_webbing(Album& album) {
    StitchRow row;
    row.length_mm = 19.0;
    row.period_mm = 1.7;
    row.amplitude_mm = 1.3;
    {
        DemoPhoto& photo = album.add("broadleaf-nick.jpg", sling, "webbing", "damage", 5);
        photo.shows = "A cut in the webbing's edge; beside it a bar tack of three rows, one with a gap.";
        photo.expectation = "measured";
        photo.why = "Card flat beside the webbing, sharp.";
        Scene& scene = photo.scene;
        scene.kind = SceneKind::webbing;
        scene.view = phone_view({290.0, 16.0, 230.0, 40.0, true});
        scene.light = lamp(60.0, 42.0, 0.5, 6.0, 0.76, 0.02F);
        scene.bench = planed_board(15.0);
        Webbing web = broadleaf();
        web.line = straight_through({16.0, 10.0}, 62.0);
        web.nick = Nick{out_of_sight_mm, 3.4, 5.2, 1, 0.35};
        for (int i = 0; i < 3; ++i) {
            row.middle_mm = out_of_sight_mm + 26.0 + 6.5 * i;
            row.gaps_mm.clear();
            if (i == 1) row.gaps_mm.push_back(11.0);
            row.gap_length_mm = 3.6;
            web.rows.push_back(row);
        }
        Random random(63);
        scene.hairs = nick_fibres(random, web, *web.nick, 16);
        scene.fibre = paled(web.base, 0.30F);
        scene.webbing = web;
        scene.nominal_mm = 25.0;
        scene.card = card_at({-58.0, 8.0}, 66.0, "0420");
    }
    {
        DemoPhoto& photo = album.add("broadleaf-fluffed-edge.jpg", sling, "webbing", "damage", 7);
        photo.shows = "One edge of the webbing fluffed over about 5 cm.";
        photo.expectation = "measured";
        photo.why = "Card flat beside the webbing, sharp.";
        Scene& scene = photo.scene;
        scene.kind = SceneKind::webbing;
        scene.view = phone_view({310.0, 19.0, 10.0, 300.0, true});
        scene.light = lamp(280.0, 45.0, 0.55, 8.0, 0.74, -0.01F);
        scene.bench = blanket();
        Webbing web = broadleaf();
        web.line = straight_through({-14.0, 0.0}, 84.0);
        web.fluffed = Stretch{out_of_sight_mm, 23.0, 5.0};
        web.fluffed_side = -1;
        Random random(64);
        scene.hairs = fluffed_edge(random, web, *web.fluffed, web.fluffed_side, 38.0, 2.3);
        scene.fibre = paled(web.base, 0.55F);
        scene.webbing = web;
        scene.nominal_mm = 25.0;
        scene.card = card_at({62.0, 14.0}, 94.0, "0420");
    }
}

void add_refused(Album& album) {
    const auto frayed = [&](const std::string& file, int orientation, const std::string& shows,
                            const std::string& why) -> Scene& {
        DemoPhoto& photo = album.add(file, climbing_rope, "rope", "damage, not usable", orientation);
        photo.shows = shows;
        photo.expectation = "refused";
        photo.why = why;
        show_frayed_spot(photo.scene);
        photo.scene.bench = workbench(8.0);
        return photo.scene;
    };
    const bool portrait = true;
    {
        Scene& scene = frayed("refused-blurred.jpg", 6, "The frayed spot, out of focus.", "Blurred: retake.");
        scene.spoil = Spoil::defocus;
        scene.view = phone_view({320.0, 18.0, 262.0, 15.0, portrait});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
        scene.card = card_at({18.0, -74.0}, 9.0, "0417");
        scene.sensor.blur_px = 9.0;
    }
    {
        Scene& scene =
            frayed("refused-no-card.jpg", 1, "The frayed spot without a card.", "No card in the picture.");
        scene.spoil = Spoil::card_missing;
        scene.view = phone_view({280.0, 15.0, 262.0, 100.0});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
    }
    {
        Scene& scene =
            frayed("refused-card-cut-off.jpg", 3, "The frayed spot; the picture's edge cuts the card.",
                   "The card is cut off by the picture's edge.");
        scene.spoil = Spoil::card_cut_off;
        scene.view = phone_view({270.0, 16.0, 262.0, 100.0});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
        scene.card = card_at({38.0, -131.0}, 11.0, "0417");
    }
    {
        DemoPhoto& photo =
            album.add("refused-card-under-rope.jpg", rigging_rope, "rope", "damage, not usable", 8);
        photo.shows = "The rope doubled back over the card: it hides the card's markers.";
        photo.expectation = "refused";
        photo.why = "The card is under the rope.";
        Scene& scene = photo.scene;
        scene.spoil = Spoil::card_under_item;
        scene.view = phone_view({340.0, 13.0, 200.0, 20.0, portrait});
        scene.light = lamp(330.0, 52.0, 0.5, 6.0, 0.76, 0.0F);
        scene.bench = planed_board(70.0);
        Rope rope = blue_arbolane(11.3);
        constexpr double bend_mm = 31.2;  // half of what the markers of one side lie apart from the other's
        rope.line = CentreLine({-bend_mm, -out_of_sight_mm}, std::numbers::pi / 2,
                               {{out_of_sight_mm + 55.0, 0.0},
                                {std::numbers::pi * bend_mm, -1.0 / bend_mm},
                                {out_of_sight_mm, 0.0}});
        scene.rope = rope;
        scene.nominal_mm = 11.0;
        scene.card = card_at({0.0, 0.0}, 2.0, "0418");
    }
    {
        Scene& scene =
            frayed("refused-glare.jpg", 1, "The frayed spot; a lamp's reflection burns out the card.",
                   "Glare over the card.");
        scene.spoil = Spoil::glare_on_card;
        scene.view = phone_view({330.0, 22.0, 264.0, 100.0});
        scene.light = lamp(35.0, 46.0, 0.5, 7.0, 0.78, 0.03F);
        scene.card = card_at({22.0, -76.0}, 6.0, "0417");
        scene.light.glares.push_back({{24.0, -74.0}, 17.0, 3.4, 1.7, 0.35});
    }
}

}  // namespace

std::vector<DemoPhoto> demo_photos() {
    Album album;
    add_case_views(album);
    add_other_damage(album);
    add_webbing(album);
    add_refused(album);
    return album.take();
}

}  // namespace frayhold::render
