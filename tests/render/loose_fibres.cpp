// SPDX-License-Identifier: Apache-2.0
#include "render/loose_fibres.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "render/webbing_surface.h"

namespace frayhold::render {
namespace {

constexpr double longest_mm = 20.0;

// The frame of the item's surface at one point.
struct Footing {
    Vec3 root, out, along, around;
};

Footing on_rope(const Rope& rope, double s, double angle) {
    const Vec2 t = rope.line.tangent(s);
    const Vec2 n = left_of(t);
    const Vec2 c = rope.line.at(s);
    const double radius = rope.diameter_mm / 2;
    const Vec3 out{std::sin(angle) * n.x, std::sin(angle) * n.y, std::cos(angle)};
    return {Vec3{c.x, c.y, radius} + (radius - 0.05) * out,
            out,
            {t.x, t.y, 0.0},
            {std::cos(angle) * n.x, std::cos(angle) * n.y, -std::sin(angle)}};
}

// Leans are in units of the outward direction.
Hair grown(Random& random, const Footing& foot, double fibre_length, double lean_along, double lean_around) {
    const double bend_along = random.normal();
    const double bend_around = random.normal();
    const double bend_out = random.normal();
    const Vec3 first =
        unit(0.75 * foot.out + (0.75 * lean_along) * foot.along + (0.6 * lean_around) * foot.around);
    // Bent by handling, and a little by its own weight.
    const Vec3 second = unit(first + (0.65 * bend_along) * foot.along + (0.55 * bend_around) * foot.around +
                             (0.35 * bend_out) * foot.out + Vec3{0.0, 0.0, -0.35});
    const double reach = std::min(fibre_length, longest_mm);
    Hair hair;
    hair.root = foot.root;
    hair.bend = hair.root + (0.5 * reach) * first;
    hair.tip = hair.bend + (0.5 * reach) * second;
    hair.bend.z = std::max(hair.bend.z, 0.05);
    hair.tip.z = std::max(hair.tip.z, 0.05);
    hair.thickness_mm = random.uniform(0.02, 0.08);
    hair.shade = static_cast<float>(random.uniform(0.75, 1.15));
    return hair;
}

}  // namespace

std::vector<Hair> frayed_sheath(Random& random, const Rope& rope, const FrayRecipe& recipe) {
    struct Tuft {
        double s = 0.0, angle = 0.0, lean_along = 0.0, lean_around = 0.0, size = 1.0;
        double spread = 1.0;  // small: the end of a yarn that has been cut through
    };
    std::vector<Tuft> tufts(static_cast<std::size_t>(random.integer(8, 18)));
    for (Tuft& tuft : tufts) {
        tuft.s = recipe.middle_mm + recipe.half_length_mm * 0.45 * random.normal();
        tuft.angle = recipe.middle_angle + recipe.spread_angle * random.normal();
        tuft.lean_along = random.normal();
        tuft.lean_around = random.normal();
        tuft.size = random.uniform(0.7, 1.6);
        tuft.spread = random.chance(0.35) ? 0.22 : 1.0;
    }
    std::vector<Hair> hairs;
    const auto count = static_cast<int>(recipe.count_per_mm * 2 * recipe.half_length_mm);
    hairs.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i) {
        double s = 0.0;
        double angle = 0.0;
        double lean_along = 0.7 * random.normal();
        double lean_around = 0.7 * random.normal();
        double size = 1.0;
        if (random.chance(0.55)) {
            const Tuft& tuft =
                tufts[static_cast<std::size_t>(random.uniform() * static_cast<double>(tufts.size()))];
            s = tuft.s + 1.3 * tuft.spread * random.normal();
            angle = tuft.angle + 0.22 * tuft.spread * random.normal();
            lean_along = tuft.lean_along + 0.35 * tuft.spread * lean_along;
            lean_around = tuft.lean_around + 0.35 * tuft.spread * lean_around;
            size = tuft.size;
        } else {
            s = recipe.middle_mm + recipe.half_length_mm * 0.42 * random.normal();
            angle = recipe.middle_angle + recipe.spread_angle * random.normal();
        }
        const double off = std::abs(s - recipe.middle_mm) / recipe.half_length_mm;
        if (off > 1.0 || random.uniform() < off * off) continue;
        const double length = recipe.mean_length_mm * size * random.gamma2();
        const double stretch = random.chance(0.03) ? 2.2 : 1.0;
        hairs.push_back(grown(random, on_rope(rope, s, angle), length * stretch, lean_along, lean_around));
    }
    return hairs;
}

std::vector<Hair> torn_rim(Random& random, const Rope& rope, const CoreWindow& window, int count) {
    std::vector<Hair> hairs;
    for (int i = 0; i < count; ++i) {
        const double turn = random.uniform(0.0, 2.0 * std::numbers::pi);
        const double out = 1.02 + 0.10 * std::abs(random.normal());
        const double s = window.middle_mm + window.half_length_mm * out * std::cos(turn);
        const double angle = window.middle_angle + window.half_angle * out * std::sin(turn);
        const double length = 1.6 * random.gamma2();
        // Mostly away from the hole and along the yarns.
        const double lean_along = 0.9 * std::cos(turn) + 0.6 * random.normal();
        const double lean_around = 0.9 * std::sin(turn) + 0.6 * random.normal();
        hairs.push_back(grown(random, on_rope(rope, s, angle), length, lean_along, lean_around));
    }
    return hairs;
}

std::vector<Hair> fluffed_edge(Random& random, const Webbing& web, const Stretch& stretch, int side,
                               double count_per_mm, double mean_length_mm) {
    std::vector<Hair> hairs;
    const double reach = stretch.half_length_mm + stretch.edge_mm;
    const auto count = static_cast<int>(2 * reach * count_per_mm);
    for (int i = 0; i < count; ++i) {
        const double s = stretch.middle_mm + random.uniform(-reach, reach);
        const double length = mean_length_mm * random.gamma2();
        const double lean_along = 0.8 * random.normal();
        const double lean_up = 0.5 * random.normal();
        const double height = random.uniform(0.15, 0.85) * web.thickness_mm;
        const double past = (std::abs(s - stretch.middle_mm) - (stretch.half_length_mm - stretch.edge_mm)) /
                            (2 * stretch.edge_mm);
        if (random.uniform() < past) continue;
        const Vec2 t = web.line.tangent(s);
        const Vec2 n = static_cast<double>(side) * left_of(t);
        const Vec2 c = web.line.at(s) + (web.width_mm / 2 - 0.3) * n;
        const Footing foot{{c.x, c.y, height}, {n.x, n.y, 0.0}, {t.x, t.y, 0.0}, {0.0, 0.0, 1.0}};
        hairs.push_back(grown(random, foot, length, lean_along, lean_up));
    }
    return hairs;
}

std::vector<Hair> nick_fibres(Random& random, const Webbing& web, const Nick& nick, int count) {
    std::vector<Hair> hairs;
    for (int i = 0; i < count; ++i) {
        const double s = nick.middle_mm + nick.length_mm * random.uniform(-0.45, 0.45);
        const double depth = nick_depth_at(nick, s);
        const double across = random.uniform(-0.6, 0.6);
        const double height = random.uniform(0.2, 0.9) * web.thickness_mm;
        const double reach = random.uniform(0.2, 0.8) * std::max(depth - 0.3, 0.0);
        const double thickness = random.uniform(0.03, 0.08);
        const double shade = random.uniform(0.75, 1.15);
        const Vec2 t = web.line.tangent(s);
        const Vec2 n = static_cast<double>(nick.side) * left_of(t);
        const Vec2 c = web.line.at(s) + (web.width_mm / 2 - depth - 0.2) * n;
        Hair hair;
        hair.root = {c.x, c.y, height};
        const Vec2 out = reach * n + (0.5 * reach * across) * t;
        hair.bend = hair.root + Vec3{0.5 * out.x, 0.5 * out.y, 0.3};
        hair.tip = hair.root + Vec3{out.x, out.y, 0.1};
        hair.thickness_mm = thickness;
        hair.shade = static_cast<float>(shade);
        hairs.push_back(hair);
    }
    return hairs;
}

}  // namespace frayhold::render
