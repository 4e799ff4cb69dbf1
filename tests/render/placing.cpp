// SPDX-License-Identifier: Apache-2.0
#include "render/placing.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "render/flat_picture.h"
#include "render/scene_parts.h"

namespace frayhold::render {
namespace {

constexpr double pi = std::numbers::pi;
constexpr int tries = 400;

std::vector<Vec2> outline_of(const Flat& flat) {
    std::vector<Vec2> points;
    const auto corners = corners_of(flat);
    for (std::size_t i = 0; i < 4; ++i)
        for (int k = 0; k < 16; ++k)
            points.push_back(plan(corners.at(i) + (k / 16.0) * (corners.at((i + 1) % 4) - corners.at(i))));
    return points;
}

bool holds(const Flat& flat, Vec2 p) {
    const Vec2 own = on_flat(flat, p);
    return own.x >= 0.0 && own.y >= 0.0 && own.x <= flat.width_mm && own.y <= flat.height_mm;
}

Vec2 anywhere_in_frame(Random& random, const Projection& projection) {
    const double px = random.uniform(0.03, 0.97) * projection.view().width_px;
    const double py = random.uniform(0.03, 0.97) * projection.view().height_px;
    return plan(projection.on_plane(px, py));
}

// Discs of the picture that a solid thing must not cover.
struct Disc {
    Vec2 middle;
    double radius = 0.0;
};

std::vector<Disc> keep_clear(const Scene& scene, const Projection& projection, const CentreLine& line,
                             double half_width_mm, Vec2 spot) {
    const auto disc_at = [&](Vec3 p, double radius_mm) {
        return Disc{projection.pixel_of(p), radius_mm * scene.view.focal_px / projection.depth_of(p)};
    };
    std::vector<Disc> discs;
    if (scene.card) discs.push_back(disc_at({scene.card->middle.x, scene.card->middle.y, 0.0}, 56.0));
    discs.push_back(disc_at({spot.x, spot.y, 0.0}, 55.0));
    for (double s = 0.0; s < line.length_mm(); s += 12.0) {
        const Vec2 at = line.at(s);
        const Vec3 p{at.x, at.y, half_width_mm};
        if (projection.depth_of(p) < 60.0) continue;
        const Disc disc = disc_at(p, half_width_mm + 9.0);
        if (projection.in_frame(disc.middle, -disc.radius)) discs.push_back(disc);
    }
    return discs;
}

bool clear_of(const Solid& solid, const std::vector<Disc>& discs, const Projection& projection) {
    for (const Solid::Bar& bar : solid.bars)
        for (int k = 0; k <= 6; ++k) {
            const Vec3 p = bar.a + (k / 6.0) * (bar.b - bar.a);
            const double depth = projection.depth_of(p);
            if (depth < 60.0) return false;
            const Vec2 px = projection.pixel_of(p);
            const double radius = 1.2 * bar.radius_mm * projection.view().focal_px / depth;
            for (const Disc& disc : discs)
                if (length(px - disc.middle) < radius + disc.radius) return false;
        }
    return true;
}

}  // namespace

bool inside_frame(const Flat& flat, const Projection& projection, double margin_px) {
    const auto corners = corners_of(flat);
    return std::all_of(corners.begin(), corners.end(), [&](Vec3 corner) {
        return projection.depth_of(corner) > 50.0 &&
               projection.in_frame(projection.pixel_of(corner), margin_px);
    });
}

double clearance(const Flat& flat, const CentreLine& line) {
    double least = 1e9;
    for (const Vec2 p : outline_of(flat)) {
        const CentreLine::Foot foot = line.foot(p);
        least = std::min(least, std::hypot(foot.q, foot.beyond));
    }
    return least;
}

bool overlap(const Flat& a, const Flat& b) {
    const auto a_points = outline_of(a);
    const auto b_points = outline_of(b);
    return std::any_of(a_points.begin(), a_points.end(), [&](Vec2 p) { return holds(b, p); }) ||
           std::any_of(b_points.begin(), b_points.end(), [&](Vec2 p) { return holds(a, p); });
}

bool place_card(Random& random, Flat& card, const Projection& projection, const CentreLine& line,
                double apart_mm) {
    const View& view = projection.view();
    const double margin = 0.02 * std::min(view.width_px, view.height_px);
    for (int attempt = 0; attempt < tries; ++attempt) {
        card.middle = anywhere_in_frame(random, projection);
        card.heading = random.uniform(0.0, 2 * pi);
        if (inside_frame(card, projection, margin) && clearance(card, line) > apart_mm) return true;
    }
    return false;
}

bool place_card_cut_off(Random& random, Flat& card, const Projection& projection, const CentreLine& line,
                        double apart_mm) {
    for (int attempt = 0; attempt < tries; ++attempt) {
        card.middle = anywhere_in_frame(random, projection);
        card.heading = random.uniform(0.0, 2 * pi);
        int outside = 0;
        for (const Vec3 corner : corners_of(card))
            if (!projection.in_frame(projection.pixel_of(corner), -0.01 * projection.view().width_px))
                ++outside;
        if (outside >= 1 && outside <= 2 && clearance(card, line) > apart_mm) return true;
    }
    return false;
}

bool place_card_under(Random& random, Flat& card, const Projection& projection, const CentreLine& line) {
    const double margin = 0.02 * std::min(projection.view().width_px, projection.view().height_px);
    for (int attempt = 0; attempt < tries; ++attempt) {
        card.middle = anywhere_in_frame(random, projection);
        card.heading = random.uniform(0.0, 2 * pi);
        const CentreLine::Foot foot = line.foot(card.middle);
        if (std::hypot(foot.q, foot.beyond) < 9.0 && inside_frame(card, projection, margin)) return true;
    }
    return false;
}

void add_decoys(Random& random, Scene& scene, const CentreLine& line, double half_width_mm) {
    const Projection projection(scene.view);
    const int wanted = random.integer(1, 3);
    for (int i = 0; i < wanted; ++i) {
        Flat decoy = random_decoy(random);
        const bool small = decoy.width_mm < 100.0;
        for (int attempt = 0; attempt < 60; ++attempt) {
            decoy.middle = anywhere_in_frame(random, projection);
            decoy.heading = random.uniform(0.0, 2 * pi);
            if (small && !inside_frame(decoy, projection, 10.0)) continue;
            if (clearance(decoy, line) < half_width_mm + 6.0 ||
                holds(decoy, line.at(line.foot(decoy.middle).s)))
                continue;
            if (scene.card && overlap(decoy, *scene.card)) continue;
            if (std::any_of(scene.flats.begin(), scene.flats.end(),
                            [&](const Flat& other) { return overlap(decoy, other); }))
                continue;
            scene.flats.push_back(decoy);
            break;
        }
    }
}

void add_clutter(Random& random, Scene& scene, const CentreLine& line, double half_width_mm, Vec2 spot) {
    const Projection projection(scene.view);
    if (random.chance(0.35)) {
        Flat rule = steel_rule(random);
        for (int attempt = 0; attempt < 60; ++attempt) {
            rule.middle = anywhere_in_frame(random, projection);
            rule.heading = random.uniform(0.0, 2 * pi);
            if (clearance(rule, line) < half_width_mm + 5.0 || (scene.card && overlap(rule, *scene.card)) ||
                std::any_of(scene.flats.begin(), scene.flats.end(),
                            [&](const Flat& other) { return overlap(rule, other); }))
                continue;
            scene.flats.push_back(rule);
            break;
        }
    }
    const std::vector<Disc> discs = keep_clear(scene, projection, line, half_width_mm, spot);
    const auto try_solid = [&](auto&& make, double inward_px) {
        const View& view = scene.view;
        for (int attempt = 0; attempt < 40; ++attempt) {
            // From a point of the picture's edge towards its middle.
            const double along = random.uniform(0.05, 0.95);
            const int side = random.integer(0, 3);
            const double x = side < 2 ? along * view.width_px : side == 2 ? 0.0 : view.width_px;
            const double y = side >= 2 ? along * view.height_px : side == 0 ? 0.0 : view.height_px;
            const Vec2 to_middle{0.5 * view.width_px - x, 0.5 * view.height_px - y};
            const double step = inward_px / length(to_middle);
            const Vec2 from = plan(projection.on_plane(x, y));
            const Vec2 at = plan(projection.on_plane(x + step * to_middle.x, y + step * to_middle.y));
            const Vec2 inward = at - from;
            const Solid solid = make(at, std::atan2(inward.y, inward.x) + 0.3 * random.normal());
            if (!clear_of(solid, discs, projection)) continue;
            scene.solids.push_back(solid);
            return;
        }
    };
    const double short_side = std::min(scene.view.width_px, scene.view.height_px);
    if (random.chance(0.30))
        try_solid([&](Vec2 at, double angle) { return gloved_hand(random, at, angle); }, 0.10 * short_side);
    if (random.chance(0.25))
        try_solid([&](Vec2 at, double angle) { return metal_ring(random, at, angle); },
                  random.uniform(0.02, 0.2) * short_side);
}

}  // namespace frayhold::render
