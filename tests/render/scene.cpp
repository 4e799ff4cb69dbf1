// SPDX-License-Identifier: Apache-2.0
#include "render/scene.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "render/camera_view.h"
#include "render/flat_picture.h"
#include "render/random.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

constexpr double pi = std::numbers::pi;
constexpr double degree = pi / 180.0;
constexpr double card_long_side_mm = 85.60;

View random_view(Random& random, const SceneChoice& choice) {
    constexpr std::array<double, 6> lenses{24.0, 26.0, 26.0, 27.0, 28.0, 52.0};
    const double focal_35mm = lenses.at(static_cast<std::size_t>(random.integer(0, 5)));
    const double tilt = random.uniform(0.0, 35.0) * degree;
    const double azimuth = random.uniform(0.0, 2 * pi);
    const double roll = random.uniform(0.0, 2 * pi);
    double distance = random.uniform(250.0, 700.0);
    View view = look_at_bench(choice.width_px, choice.height_px, focal_35mm, distance, tilt, azimuth, roll);
    if (choice.framing == Framing::card_sixth) {
        // The long side of the picture, whichever way it stands, is six card lengths at the middle of the picture.
        const double long_px = std::max(choice.width_px, choice.height_px);
        distance = random.uniform(0.92, 1.08) * 6.0 * card_long_side_mm * view.focal_px / long_px;
        view = look_at_bench(choice.width_px, choice.height_px, focal_35mm, distance, tilt, azimuth, roll);
    }
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
    const double paper = random.uniform(0.50, 0.74);
    light.exposure = paper / (0.85 * (light.ambient + light.key * light.towards.z));
    const int bands = random.chance(0.4) ? random.integer(1, 2) : 0;
    for (int i = 0; i < bands; ++i)
        light.bands.push_back({random.uniform(0.0, pi), random.uniform(-200.0, 200.0), random.uniform(15.0, 70.0),
                               random.uniform(8.0, 15.0), random.uniform(0.15, 0.5)});
    return light;
}

Bench random_bench(Random& random) {
    Bench bench;
    bench.sort = static_cast<BenchSort>(random.integer(0, 3));
    bench.heading = random.uniform(0.0, 2 * pi);
    bench.scale = random.uniform(0.8, 1.25);
    const auto pick = [&](std::initializer_list<std::array<unsigned, 2>> pairs) {
        const auto& pair = *(pairs.begin() + random.integer(0, static_cast<int>(pairs.size()) - 1));
        bench.light = colour_of(pair[0]);
        bench.dark = colour_of(pair[1]);
    };
    switch (bench.sort) {
        case BenchSort::wood:
            pick({{0xCFA878U, 0x7A4E2AU}, {0xB98A5AU, 0x5C3A22U}, {0xD9BD92U, 0x9A7446U}, {0x9C7A58U, 0x4A3424U}});
            bench.gloss = random.uniform(0.0, 0.05);
            break;
        case BenchSort::fleece:
            pick({{0x7C8794U, 0x39414CU}, {0x8B8F7AU, 0x474A3AU}, {0x9A8F8AU, 0x544A48U}, {0x5E7280U, 0x263642U}});
            break;
        case BenchSort::concrete:
            pick({{0xB9B6AEU, 0x6D6A64U}, {0xA3A4A4U, 0x5E6062U}, {0xC2BCB0U, 0x7C766CU}});
            break;
        case BenchSort::table:
            pick({{0xC9C6BEU, 0x9D9A94U}, {0x6C7A74U, 0x48544FU}, {0x8C7F70U, 0x5D5348U}, {0x55606CU, 0x39424CU}});
            bench.gloss = random.uniform(0.01, 0.10);
            break;
    }
    return bench;
}

constexpr std::array<unsigned, 10> sheath_colours{0xB5342BU, 0x2F5D9BU, 0xD8862CU, 0x3E7D4FU, 0xDAD8CFU,
                                                  0x2B2D30U, 0xC9B43AU, 0x6A4C8CU, 0x8E8F8AU, 0xE05A2AU};
constexpr std::array<unsigned, 6> tracer_colours{0x1C1E22U, 0xE8E4DAU, 0x2C6FB0U, 0xD23C34U, 0xE0B93CU, 0x2F7A55U};

Rope random_rope(Random& random, const View& view) {
    Rope rope;
    rope.diameter_mm = random.uniform(8.0, 13.0);
    rope.yarns_a_way = 2 * random.integer(6, 10) + (rope.diameter_mm > 10.5 ? 4 : 0);
    rope.float_cells = random.chance(0.7) ? 2 : 1;
    const double braid_angle = random.uniform(30.0, 42.0) * degree;  // of a yarn from the rope's axis
    rope.pitch_mm = pi * rope.diameter_mm / std::tan(braid_angle);
    rope.sheath = colour_of(sheath_colours.at(static_cast<std::size_t>(random.integer(0, 9))));
    const int tracers = random.integer(1, 4);
    const Colour tracer = colour_of(tracer_colours.at(static_cast<std::size_t>(random.integer(0, 5))));
    const int first = random.integer(0, rope.yarns_a_way - 1);
    for (int i = 0; i < tracers; ++i) {
        const int way = i % 2;
        rope.tracers.push_back({way, (first + (i / 2) * 2) % rope.yarns_a_way, tracer});
    }
    rope.soil = random.chance(0.6) ? random.uniform(0.0, 0.45) : 0.0;
    rope.texture_seed = random.word();

    const double angle = random.uniform(0.0, 2 * pi);
    const double view_mm = length(view.position) / view.focal_px * std::min(view.width_px, view.height_px);
    const double aside = random.uniform(-0.18, 0.18) * view_mm;
    const Vec2 through = aside * left_of(heading(angle));
    constexpr double reach = 1500.0;
    const Vec2 start = through - reach * heading(angle);
    rope.line = CentreLine(start, angle, {{2 * reach, 0.0}});
    return rope;
}

// Broken sheath fibres about one spot: many short ones, some in tufts, a few long; their number thins out to both
// ends so that the damage has no hard edge.
std::vector<Hair> random_fray(Random& random, const Rope& rope, double middle_mm, double half_length_mm,
                              double middle_angle, double spread_angle, double count_per_mm, double scale_mm) {
    std::vector<Hair> hairs;
    const double radius = rope.diameter_mm / 2;
    struct Tuft {
        double s, angle, lean_s, lean_angle, size;
    };
    std::vector<Tuft> tufts(static_cast<std::size_t>(random.integer(6, 16)));
    for (Tuft& tuft : tufts) {
        tuft.s = middle_mm + half_length_mm * 0.45 * random.normal();
        tuft.angle = middle_angle + spread_angle * random.normal();
        tuft.lean_s = random.normal();
        tuft.lean_angle = random.normal();
        tuft.size = random.uniform(0.7, 1.6);
    }
    const auto count = static_cast<int>(count_per_mm * 2 * half_length_mm);
    hairs.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i) {
        double s = 0.0;
        double angle = 0.0;
        double lean_s = 0.7 * random.normal();
        double lean_angle = 0.7 * random.normal();
        double size = 1.0;
        if (random.chance(0.55)) {
            const Tuft& tuft = tufts[static_cast<std::size_t>(random.uniform() * static_cast<double>(tufts.size()))];
            s = tuft.s + 1.3 * random.normal();
            angle = tuft.angle + 0.22 * random.normal();
            lean_s = tuft.lean_s + 0.35 * lean_s;
            lean_angle = tuft.lean_angle + 0.35 * lean_angle;
            size = tuft.size;
        } else {
            s = middle_mm + half_length_mm * 0.42 * random.normal();
            angle = middle_angle + spread_angle * random.normal();
        }
        const double off = std::abs(s - middle_mm) / half_length_mm;
        const double thin = random.uniform();
        const double fibre_length = scale_mm * size * random.gamma2() * (random.chance(0.03) ? 2.4 : 1.0);
        const double bend_1 = random.normal();
        const double bend_2 = random.normal();
        const double bend_3 = random.normal();
        const double thickness = random.uniform(0.02, 0.08);
        const double shade = random.uniform(0.75, 1.15);
        if (off > 1.0 || thin < off * off) continue;
        const Vec2 t2 = rope.line.tangent(s);
        const Vec2 n2 = left_of(t2);
        const Vec2 c2 = rope.line.at(s);
        const Vec3 along{t2.x, t2.y, 0.0};
        const Vec3 out{std::sin(angle) * n2.x, std::sin(angle) * n2.y, std::cos(angle)};
        const Vec3 around{std::cos(angle) * n2.x, std::cos(angle) * n2.y, -std::sin(angle)};
        const Vec3 axis{c2.x, c2.y, radius};
        Hair hair;
        hair.root = axis + (radius - 0.05) * out;
        const Vec3 first = unit(0.75 * out + (0.75 * lean_s) * along + (0.6 * lean_angle) * around);
        const Vec3 bent = unit(first + (0.65 * bend_1) * along + (0.55 * bend_2) * around + (0.35 * bend_3) * out +
                               Vec3{0.0, 0.0, -0.25});
        const double reach = std::min(fibre_length, 28.0);
        hair.bend = hair.root + (0.5 * reach) * first;
        hair.tip = hair.bend + (0.5 * reach) * bent;
        hair.bend.z = std::max(hair.bend.z, 0.05);
        hair.tip.z = std::max(hair.tip.z, 0.05);
        hair.thickness_mm = thickness;
        hair.shade = static_cast<float>(shade);
        hairs.push_back(hair);
    }
    return hairs;
}

Flat random_card(Random& random, CardSort sort) {
    Flat card;
    card.print_seed = random.word();
    card.print_blur_mm = random.uniform(0.02, 0.05);
    const auto paper = static_cast<float>(random.uniform(0.80, 0.88));
    card.paper = {paper, paper, 0.985F * paper};
    if (sort == CardSort::plain_id1) {
        card.sort = Flat::Sort::plain_card;
        card.corner_radius_mm = 3.18;
    }
    return card;
}

bool inside_frame(const Flat& flat, const Projection& projection, double margin_px) {
    const auto corners = corners_of(flat);
    return std::all_of(corners.begin(), corners.end(), [&](Vec3 corner) {
        return projection.depth_of(corner) > 50.0 && projection.in_frame(projection.pixel_of(corner), margin_px);
    });
}

// The least distance from the thing's outline to the centre line, in plan view.
double clearance(const Flat& flat, const CentreLine& line) {
    const auto corners = corners_of(flat);
    double least = 1e9;
    for (std::size_t i = 0; i < 4; ++i)
        for (int k = 0; k < 16; ++k) {
            const Vec3 p = corners.at(i) + (k / 16.0) * (corners.at((i + 1) % 4) - corners.at(i));
            const CentreLine::Foot foot = line.foot(plan(p));
            least = std::min(least, std::hypot(foot.q, foot.beyond));
        }
    return least;
}

bool place_card(Random& random, Flat& card, const Projection& projection, const CentreLine& line, double apart_mm) {
    const View& view = projection.view();
    const double margin = 0.02 * std::min(view.width_px, view.height_px);
    for (int attempt = 0; attempt < 400; ++attempt) {
        const double px = random.uniform(0.05, 0.95) * view.width_px;
        const double py = random.uniform(0.05, 0.95) * view.height_px;
        card.middle = plan(projection.on_plane(px, py));
        card.heading = random.uniform(0.0, 2 * pi);
        if (inside_frame(card, projection, margin) && clearance(card, line) > apart_mm) return true;
    }
    return false;
}

}  // namespace

Scene random_scene(std::uint64_t seed, SceneKind kind, const SceneChoice& choice) {
    Random random(seed * 64 + static_cast<std::uint64_t>(kind));
    for (;;) {
        Scene scene;
        scene.seed = seed;
        scene.kind = kind;
        scene.spoil = choice.spoil;
        scene.view = random_view(random, choice);
        scene.light = random_light(random);
        scene.bench = random_bench(random);
        scene.rope = random_rope(random, scene.view);
        const Projection projection(scene.view);
        const CentreLine& line = scene.rope->line;
        const double spot = line.foot({0.0, 0.0}).s + random.uniform(-40.0, 40.0);
        double apart = scene.rope->diameter_mm / 2 + random.uniform(5.0, 25.0);
        if (kind == SceneKind::frayed_rope) {
            const double half = random.uniform(6.0, 26.0);
            const double angle = random.uniform(-1.5, 1.5);
            const double spread = random.uniform(0.6, 1.3);
            const double density = random.uniform(25.0, 110.0);
            const double scale = random.uniform(2.0, 6.5);
            scene.hairs = random_fray(random, *scene.rope, spot, half, angle, spread, density, scale);
            scene.rope->fluffed = Stretch{spot, 0.75 * half, 0.35 * half};
            scene.rope->fluffed_angle = angle;
            scene.fibre = mix(scene.rope->sheath, Colour{0.80F, 0.79F, 0.77F}, 0.45F);
            apart += 22.0;
        }
        const Vec2 at = line.at(spot);
        if (!projection.in_frame(projection.pixel_of({at.x, at.y, 0.0}), 0.15 * choice.height_px)) continue;
        if (choice.card != CardSort::none) {
            scene.card = random_card(random, choice.card);
            if (!place_card(random, *scene.card, projection, line, apart)) continue;
        }
        scene.sensor.blur_px = random.uniform(0.5, 1.2);
        scene.sensor.shot = random.uniform(2e-5, 1.5e-4);
        scene.sensor.read = random.uniform(0.0008, 0.003);
        return scene;
    }
}

}  // namespace frayhold::render
