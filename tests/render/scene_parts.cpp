// SPDX-License-Identifier: Apache-2.0
#include "render/scene_parts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <numbers>

#include "render/camera_view.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double card_long_side_mm = 85.60;
constexpr double out_of_sight_mm = 1600.0;

template <class Range>
auto any_of(Random& random, const Range& range) {
    return range[static_cast<std::size_t>(random.integer(0, static_cast<int>(std::size(range)) - 1))];
}

constexpr std::array<unsigned, 10> sheath_colours{0xB5342BU, 0x2F5D9BU, 0xD8862CU, 0x3E7D4FU, 0xDAD8CFU,
                                                  0x2B2D30U, 0xC9B43AU, 0x6A4C8CU, 0x8E8F8AU, 0xE05A2AU};
constexpr std::array<unsigned, 6> tracer_colours{0x1C1E22U, 0xE8E4DAU, 0x2C6FB0U,
                                                 0xD23C34U, 0xE0B93CU, 0x2F7A55U};
constexpr std::array<unsigned, 8> web_colours{0xC8352CU, 0x27598FU, 0xD9A02FU, 0x33363AU,
                                              0xD4D2C8U, 0x4E7F4AU, 0x7A7C78U, 0xD8652AU};

bool alike(Colour a, Colour b) {
    return std::abs(a.r - b.r) + std::abs(a.g - b.g) + std::abs(a.b - b.b) < 0.25F;
}

}  // namespace

View random_view(Random& random, const SceneChoice& choice) {
    constexpr std::array<double, 6> lenses{24.0, 26.0, 26.0, 27.0, 28.0, 52.0};
    const double focal_35mm = any_of(random, lenses);
    const double most_tilt_deg = choice.framing == Framing::straight_above ? 5.0 : 35.0;
    const double tilt = random.uniform(0.0, most_tilt_deg) * degree;
    const double azimuth = random.uniform(0.0, 2 * pi);
    const double roll = random.uniform(0.0, 2 * pi);
    double distance = random.uniform(250.0, 700.0);
    if (choice.framing != Framing::anywhere) {
        // The picture's long side, whichever way it stands, is about six card lengths at its middle.
        const View plain =
            look_at_bench(choice.width_px, choice.height_px, focal_35mm, distance, tilt, azimuth, roll);
        const double long_px = std::max(choice.width_px, choice.height_px);
        distance = random.uniform(0.92, 1.08) * 6.0 * card_long_side_mm * plain.focal_px / long_px;
    }
    View view = look_at_bench(choice.width_px, choice.height_px, focal_35mm, distance, tilt, azimuth, roll);
    // What a camera states is rounded and nominal.
    view.focal_px *= 1.0 + std::clamp(0.008 * random.normal(), -0.02, 0.02);
    view.k1 = std::clamp(0.01 * random.normal(), -0.03, 0.03);
    view.k2 = std::clamp(0.003 * random.normal(), -0.008, 0.008);
    return view;
}

Light random_light(Random& random) {
    Light light;
    const double elevation = random.uniform(28.0, 72.0) * degree;
    const Vec2 side = heading(random.uniform(0.0, 2 * pi));
    light.towards = {std::cos(elevation) * side.x, std::cos(elevation) * side.y, std::sin(elevation)};
    light.ambient = random.uniform(0.35, 0.8);
    light.half_angle = random.uniform(2.0, 14.0) * degree;
    light.reach_mm = random.uniform(900.0, 3000.0);
    const auto warm = static_cast<float>(random.uniform(-0.06, 0.08));
    light.tint = {1.F + warm, 1.F, 1.F - 1.2F * warm};
    light.vignette = random.uniform(0.2, 0.6);
    const double paper = random.uniform(0.50, 0.85);
    light.exposure = paper / (0.85 * (light.ambient + light.key * light.towards.z));
    const int bands = random.chance(0.4) ? random.integer(1, 2) : 0;
    for (int i = 0; i < bands; ++i)
        light.bands.push_back({random.uniform(0.0, pi), random.uniform(-200.0, 200.0),
                               random.uniform(15.0, 70.0), random.uniform(8.0, 15.0),
                               random.uniform(0.15, 0.5)});
    return light;
}

Bench random_bench(Random& random) {
    Bench bench;
    bench.sort = static_cast<BenchSort>(random.integer(0, 3));
    bench.heading = random.uniform(0.0, 2 * pi);
    bench.offset_mm = {random.uniform(0.0, 900.0), random.uniform(0.0, 900.0)};
    bench.scale = random.uniform(0.8, 1.25);
    using Pair = std::array<unsigned, 2>;
    const auto pick = [&](std::initializer_list<Pair> pairs) {
        const Pair& pair = *(pairs.begin() + random.integer(0, static_cast<int>(pairs.size()) - 1));
        bench.light = colour_of(pair[0]);
        bench.dark = colour_of(pair[1]);
    };
    switch (bench.sort) {
        case BenchSort::wood:
            pick({{0xCFA878U, 0x7A4E2AU},
                  {0xB98A5AU, 0x5C3A22U},
                  {0xD9BD92U, 0x9A7446U},
                  {0x9C7A58U, 0x4A3424U}});
            bench.gloss = random.uniform(0.0, 0.05);
            break;
        case BenchSort::fleece:
            pick({{0x7C8794U, 0x39414CU},
                  {0x8B8F7AU, 0x474A3AU},
                  {0x9A8F8AU, 0x544A48U},
                  {0x5E7280U, 0x263642U}});
            break;
        case BenchSort::concrete:
            pick({{0xB9B6AEU, 0x6D6A64U}, {0xA3A4A4U, 0x5E6062U}, {0xC2BCB0U, 0x7C766CU}});
            break;
        case BenchSort::table:
            pick({{0xC9C6BEU, 0x9D9A94U},
                  {0x6C7A74U, 0x48544FU},
                  {0x8C7F70U, 0x5D5348U},
                  {0x55606CU, 0x39424CU}});
            bench.gloss = random.uniform(0.01, 0.10);
            break;
    }
    return bench;
}

Rope random_rope(Random& random) {
    Rope rope;
    rope.diameter_mm = random.uniform(8.0, 13.0);
    rope.yarns_a_way = 2 * random.integer(6, 10) + (rope.diameter_mm > 10.5 ? 4 : 0);
    rope.float_cells = random.chance(0.7) ? 2 : 1;
    const double braid_angle = random.uniform(30.0, 42.0) * degree;  // of a yarn from the rope's axis
    rope.pitch_mm = pi * rope.diameter_mm / std::tan(braid_angle);
    rope.sheath = colour_of(any_of(random, sheath_colours));
    Colour tracer = colour_of(any_of(random, tracer_colours));
    while (alike(tracer, rope.sheath)) tracer = colour_of(any_of(random, tracer_colours));
    const int tracers = random.integer(1, 4);
    const int first = random.integer(0, rope.yarns_a_way - 1);
    for (int i = 0; i < tracers; ++i)
        rope.tracers.push_back({i % 2, (first + (i / 2) * 2) % rope.yarns_a_way, tracer});
    rope.soil = random.chance(0.6) ? random.uniform(0.0, 0.45) : 0.0;
    return rope;
}

Webbing random_webbing(Random& random) {
    Webbing web;
    web.width_mm = random.uniform(15.0, 45.0);
    web.thickness_mm = random.uniform(1.5, 3.0);
    web.base = colour_of(any_of(random, web_colours));
    web.stripe = colour_of(any_of(random, web_colours));
    web.thread = colour_of(any_of(random, tracer_colours));
    while (alike(web.thread, web.base)) web.thread = colour_of(any_of(random, tracer_colours));
    web.stripe_width_mm = random.uniform(1.0, 3.0);
    web.stripe_inset_mm = random.uniform(1.2, 3.5);
    web.chevron = random.chance(0.6);
    web.rib_mm = random.uniform(0.8, 1.3);
    web.soil = random.chance(0.6) ? random.uniform(0.0, 0.4) : 0.0;
    return web;
}

LaidLine laid_straight(Random& random, Vec2 at) {
    const double angle = random.uniform(0.0, 2 * pi);
    return {CentreLine(at - out_of_sight_mm * heading(angle), angle, {{2 * out_of_sight_mm, 0.0}}),
            out_of_sight_mm};
}

LaidLine laid_rope(Random& random, Vec2 at) {
    const double angle = random.uniform(0.0, 2 * pi);
    std::vector<LinePiece> pieces;
    double spot = 0.0;
    const double shape = random.uniform();
    const double side = random.chance(0.5) ? 1.0 : -1.0;
    if (shape < 0.45) {
        pieces = {{2 * out_of_sight_mm, 0.0}};
        spot = out_of_sight_mm;
    } else if (shape < 0.60) {
        // Ends in sight.
        spot = out_of_sight_mm;
        pieces = {{out_of_sight_mm + random.uniform(60.0, 140.0), 0.0}};
    } else if (shape < 0.82) {
        const double radius = random.uniform(60.0, 220.0);
        const double arc = radius * random.uniform(20.0, 110.0) * degree;
        pieces = {{out_of_sight_mm, 0.0}, {arc, side / radius}, {out_of_sight_mm, 0.0}};
        spot = out_of_sight_mm + random.uniform(-60.0, arc + 60.0);
    } else if (shape < 0.92) {
        const double first = random.uniform(70.0, 180.0);
        const double second = random.uniform(70.0, 180.0);
        const double turn = random.uniform(20.0, 70.0) * degree;
        pieces = {{out_of_sight_mm, 0.0},
                  {first * turn, side / first},
                  {random.uniform(0.0, 60.0), 0.0},
                  {second * turn, -side / second},
                  {out_of_sight_mm, 0.0}};
        spot = out_of_sight_mm + random.uniform(-50.0, first * turn);
    } else {
        // Comes back beside itself.
        const double radius = random.uniform(45.0, 75.0);
        pieces = {{out_of_sight_mm, 0.0}, {pi * radius, side / radius}, {out_of_sight_mm, 0.0}};
        spot = out_of_sight_mm - random.uniform(20.0, 110.0);
    }
    const CentreLine trial({0.0, 0.0}, angle, pieces);
    return {CentreLine(at - trial.at(spot), angle, pieces), spot};
}

Flat random_card(Random& random, CardSort sort) {
    Flat card;
    card.print_seed = random.word();
    card.print_blur_mm = random.uniform(0.02, 0.05);
    const auto paper = static_cast<float>(random.uniform(0.80, 0.88));
    card.paper = {paper, paper, 0.985F * paper};
    if (sort == CardSort::printed) {
        const std::string digits = std::to_string(1000 + random.integer(0, 8999));
        card.lines = {"HOLD " + digits, "REFERENCE CARD 85.60 x 53.98", "CHECK THE TICKS WITH A STEEL RULE"};
    } else {
        card.sort = Flat::Sort::plain_card;
        card.corner_radius_mm = 3.18;
        if (random.chance(0.75)) {
            const double level = random.uniform(0.02, 0.85);
            card.paper = {static_cast<float>(level * random.uniform(0.3, 1.0)),
                          static_cast<float>(level * random.uniform(0.3, 1.0)),
                          static_cast<float>(level * random.uniform(0.3, 1.0))};
        }
        const bool dark = card.paper.r + card.paper.g + card.paper.b < 0.9F;
        card.ink = dark ? Colour{0.8F, 0.8F, 0.78F} : Colour{0.04F, 0.04F, 0.05F};
        card.lines = {"LOWER ASHMEER", "LIBRARY", std::to_string(100000 + random.integer(0, 899999))};
    }
    return card;
}

Flat random_decoy(Random& random) {
    Flat flat;
    flat.print_seed = random.word();
    const auto tone = static_cast<float>(random.uniform(0.72, 0.86));
    flat.paper = {tone, tone, 0.97F * tone};
    switch (random.integer(0, 5)) {
        case 0:
            flat.sort = Flat::Sort::book;
            flat.width_mm = random.uniform(105.0, 150.0);
            flat.height_mm = flat.width_mm * random.uniform(1.4, 1.6);
            flat.thickness_mm = random.uniform(6.0, 18.0);
            flat.paper = {static_cast<float>(random.uniform(0.02, 0.5)),
                          static_cast<float>(random.uniform(0.02, 0.5)),
                          static_cast<float>(random.uniform(0.02, 0.5))};
            flat.ink = {0.8F, 0.78F, 0.7F};
            flat.lines = {"KNOTS"};
            break;
        case 1:
            flat.sort = Flat::Sort::slab;
            flat.width_mm = random.uniform(68.0, 78.0);
            flat.height_mm = flat.width_mm * random.uniform(1.95, 2.15);
            flat.corner_radius_mm = random.uniform(6.0, 12.0);
            flat.thickness_mm = 8.0;
            flat.paper = {0.05F, 0.05F, 0.055F};
            break;
        case 2:
        case 3: {
            flat.sort = Flat::Sort::business_card;
            const bool wide = random.chance(0.5);
            flat.width_mm = wide ? 88.9 : 85.0;
            flat.height_mm = wide ? 50.8 : 55.0;
            flat.thickness_mm = 0.3;
            flat.lines = {"KORREL TREE CREW", "LOWER ASHMEER DEPOT", "GEAR STORE"};
            break;
        }
        case 4: {
            flat.sort = Flat::Sort::paper;
            const std::array<double, 3> sides{210.0, 148.0, 105.0};  // A4, A5, A6
            flat.width_mm = any_of(random, sides);
            flat.height_mm = std::round(flat.width_mm * std::numbers::sqrt2);
            break;
        }
        default: {
            flat.sort = Flat::Sort::envelope;
            const bool slim = random.chance(0.5);
            flat.width_mm = slim ? 220.0 : 162.0;
            flat.height_mm = slim ? 110.0 : 114.0;
            flat.thickness_mm = 0.6;
            break;
        }
    }
    return flat;
}

Flat steel_rule(Random& random) {
    Flat rule;
    rule.sort = Flat::Sort::steel_rule;
    const bool small = random.chance(0.5);
    rule.width_mm = small ? 162.0 : 312.0;
    rule.height_mm = small ? 19.0 : 26.0;
    rule.thickness_mm = 1.0;
    rule.corner_radius_mm = 1.0;
    rule.paper = {0.42F, 0.43F, 0.44F};
    rule.ink = {0.05F, 0.05F, 0.05F};
    return rule;
}

Solid gloved_hand(Random& random, Vec2 at, double heading_rad) {
    constexpr std::array<unsigned, 4> gloves{0x6E6A62U, 0xA8642CU, 0x3A3C40U, 0x8C7A52U};
    Solid hand;
    hand.colour = colour_of(any_of(random, gloves));
    hand.gloss = 0.04;
    hand.texture = 0.07;
    hand.blend_mm = 9.0;
    const Vec2 ahead = heading(heading_rad);
    const Vec2 side = (random.chance(0.5) ? 1.0 : -1.0) * left_of(ahead);
    const auto place = [&](double forward, double aside, double z) {
        const Vec2 p = at + forward * ahead + aside * side;
        return Vec3{p.x, p.y, z};
    };
    hand.bars.push_back({place(-330.0, -8.0, 45.0), place(-100.0, 0.0, 34.0), 30.0});
    hand.bars.push_back({place(-85.0, -14.0, 28.0), place(-18.0, -26.0, 22.0), 17.0});
    hand.bars.push_back({place(-85.0, 4.0, 30.0), place(-10.0, 2.0, 24.0), 19.0});
    hand.bars.push_back({place(-85.0, 16.0, 28.0), place(-22.0, 27.0, 20.0), 16.0});
    const std::array<double, 4> across{-30.0, -11.0, 9.0, 28.0};
    const std::array<double, 4> reach{44.0, 60.0, 56.0, 40.0};
    for (std::size_t i = 0; i < 4; ++i) {
        const double spread = 0.16 * across.at(i);
        const double bow = random.uniform(0.45, 0.6);
        const Vec3 knuckle = place(-4.0, across.at(i), 24.0);
        const Vec3 middle = place(-4.0 + bow * reach.at(i), across.at(i) + 0.6 * spread, 20.0);
        const Vec3 tip = place(random.uniform(0.85, 1.0) * reach.at(i), across.at(i) + spread, 10.5);
        hand.bars.push_back({knuckle, middle, 10.5});
        hand.bars.push_back({middle, tip, 9.5});
    }
    hand.bars.push_back({place(-62.0, -30.0, 24.0), place(-24.0, -58.0, 14.0), 12.5});
    hand.bars.push_back({place(-24.0, -58.0, 14.0), place(6.0, -62.0, 11.0), 10.5});
    return hand;
}

Solid metal_ring(Random& random, Vec2 at, double heading_rad) {
    constexpr std::array<unsigned, 4> finishes{0xA7ABB0U, 0x44484EU, 0x9C3B2EU, 0x3C6A94U};
    Solid ring;
    ring.colour = colour_of(any_of(random, finishes));
    ring.gloss = 0.9;
    ring.texture = 0.01;
    ring.blend_mm = 0.2;
    const double radius = 5.0;
    const double half_length = random.uniform(44.0, 54.0);
    const double half_width = random.uniform(26.0, 34.0);
    constexpr int corners = 40;
    std::vector<Vec3> points;
    const Vec2 ahead = heading(heading_rad);
    for (int i = 0; i < corners; ++i) {
        // A rounded rectangle, narrower at one end.
        const double t = 2 * pi * i / corners;
        const auto squared = [](double v) { return std::copysign(std::pow(std::abs(v), 0.62), v); };
        const double u = half_length * squared(std::cos(t));
        const double v = half_width * squared(std::sin(t)) * (1.0 - 0.18 * u / half_length);
        const Vec2 p = at + u * ahead + v * left_of(ahead);
        points.push_back({p.x, p.y, radius});
    }
    for (std::size_t i = 0; i < points.size(); ++i)
        ring.bars.push_back({points[i], points[(i + 1) % points.size()], radius});
    return ring;
}

}  // namespace frayhold::render
