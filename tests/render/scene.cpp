// SPDX-License-Identifier: Apache-2.0
#include "render/scene.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "render/camera_view.h"
#include "render/loose_fibres.h"
#include "render/placing.h"
#include "render/scene_parts.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

// Each gives the damage's half length along the item, and how far loose fibres may stand out.
struct Damage {
    double half_length_mm = 15.0;
    double halo_mm = 0.0;
};

Damage fray(Random& random, Scene& scene, double spot) {
    Rope& rope = *scene.rope;
    FrayRecipe recipe;
    recipe.middle_mm = spot;
    recipe.half_length_mm = random.uniform(5.0, 24.0);
    recipe.middle_angle = random.uniform(-1.5, 1.5);
    recipe.spread_angle = random.uniform(0.6, 1.3);
    recipe.count_per_mm = random.uniform(25.0, 110.0);
    recipe.mean_length_mm = random.uniform(1.5, 4.5);
    scene.hairs = frayed_sheath(random, rope, recipe);
    rope.fluffed = Stretch{spot, 0.75 * recipe.half_length_mm, 0.35 * recipe.half_length_mm};
    rope.fluffed_angle = recipe.middle_angle;
    scene.fibre = paled(rope.sheath, static_cast<float>(random.uniform(0.1, 0.5)));
    return {recipe.half_length_mm + 6.0, 18.0};
}

Damage open_core(Random& random, Scene& scene, double spot) {
    Rope& rope = *scene.rope;
    CoreWindow window;
    window.middle_mm = spot;
    window.half_length_mm = random.uniform(4.0, 14.0);
    window.middle_angle = random.uniform(-0.6, 0.6);
    window.half_angle = random.uniform(0.35, 0.85);
    window.edge_seed = random.word();
    if (random.chance(0.15)) {
        // White core in a white sheath: colour tells nothing.
        rope.sheath = Colour{0.74F, 0.73F, 0.70F};
        window.core = Colour{0.76F, 0.75F, 0.72F};
    }
    rope.core = window;
    const int count = random.integer(60, 260);
    scene.hairs = torn_rim(random, rope, window, count);
    rope.fluffed = Stretch{spot, 0.9 * window.half_length_mm, 0.55 * window.half_length_mm};
    rope.fluffed_angle = window.middle_angle;
    scene.fibre = paled(rope.sheath, static_cast<float>(random.uniform(0.1, 0.5)));
    return {1.6 * window.half_length_mm, 8.0};
}

Damage flatten(Random& random, Scene& scene, double spot) {
    Rope& rope = *scene.rope;
    const double half = random.uniform(10.0, 32.0);
    rope.flattened = Stretch{spot, half, random.uniform(0.4, 0.8) * half};
    rope.flattened_share = random.uniform(0.08, 0.25);
    return {1.5 * half, 0.0};
}

Damage hurt_webbing(Random& random, Scene& scene, double spot) {
    Webbing& web = *scene.webbing;
    Damage damage;
    const double sort = random.uniform();
    scene.fibre = paled(web.base, static_cast<float>(random.uniform(0.1, 0.5)));
    if (sort < 0.5) {
        Nick nick;
        nick.middle_mm = spot;
        nick.length_mm = random.uniform(1.5, 8.0);
        nick.depth_mm = random.uniform(0.06, 0.35) * web.width_mm;
        nick.side = random.chance(0.5) ? 1 : -1;
        nick.lean = random.uniform(-0.8, 0.8);
        web.nick = nick;
        const int count = random.integer(3, 14);
        scene.hairs = nick_fibres(random, web, nick, count);
    } else if (sort < 0.85) {
        const double half = random.uniform(8.0, 30.0);
        web.fluffed = Stretch{spot, half, random.uniform(2.0, 6.0)};
        web.fluffed_side = random.chance(0.5) ? 1 : -1;
        const double density = random.uniform(12.0, 45.0);
        const double mean = random.uniform(0.8, 2.4);
        scene.hairs = fluffed_edge(random, web, *web.fluffed, web.fluffed_side, density, mean);
        damage = {half + 8.0, 8.0};
    }
    if (random.chance(0.7)) {
        // A bar tack beside the damage: rows close together across the webbing.
        const int rows = random.integer(1, 3);
        const double at = spot + (random.chance(0.5) ? 1.0 : -1.0) * random.uniform(16.0, 30.0);
        StitchRow row;
        row.length_mm = random.uniform(0.6, 0.85) * web.width_mm;
        row.period_mm = random.uniform(1.4, 2.2);
        row.amplitude_mm = random.uniform(1.0, 1.6);
        for (int i = 0; i < rows; ++i) {
            row.middle_mm = at + 7.0 * i;
            row.gaps_mm.clear();
            row.gap_length_mm = 2.2 * row.period_mm;
            if (random.chance(0.4)) row.gaps_mm.push_back(random.uniform(0.25, 0.75) * row.length_mm);
            web.rows.push_back(row);
        }
    }
    return damage;
}

void spoil_sharpness(Random& random, Scene& scene) {
    if (scene.spoil == Spoil::motion_blur) {
        scene.sensor.motion_px = random.uniform(20.0, 42.0) * scene.view.width_px / 4032.0;
        scene.sensor.motion_heading = random.uniform(0.0, 2.0 * std::numbers::pi);
    }
    if (scene.spoil == Spoil::defocus)
        scene.sensor.blur_px = random.uniform(6.0, 12.0) * scene.view.width_px / 4032.0;
}

void add_glare(Random& random, Scene& scene, Vec2 spot) {
    if (scene.spoil == Spoil::glare_on_card && scene.card) {
        scene.light.glares.push_back(
            {scene.card->middle, random.uniform(18.0, 32.0), random.uniform(1.6, 3.5)});
        return;
    }
    if (!random.chance(0.2)) return;
    const Projection projection(scene.view);
    const double px = random.uniform(0.0, 1.0) * scene.view.width_px;
    const double py = random.uniform(0.0, 1.0) * scene.view.height_px;
    const Light::Glare glare{plan(projection.on_plane(px, py)), random.uniform(8.0, 24.0),
                             random.uniform(0.3, 1.6)};
    const double clear = 2.6 * glare.radius_mm;
    if (length(glare.middle - spot) < 40.0 + clear) return;
    if (scene.card && length(glare.middle - scene.card->middle) < 52.0 + clear) return;
    scene.light.glares.push_back(glare);
}

bool place_reference(Random& random, Scene& scene, const CentreLine& line, double apart_mm) {
    const Projection projection(scene.view);
    switch (scene.spoil) {
        case Spoil::card_cut_off:
            return place_card_cut_off(random, *scene.card, projection, line, apart_mm);
        case Spoil::card_under_item:
            return place_card_under(random, *scene.card, projection, line);
        default:
            return place_card(random, *scene.card, projection, line, apart_mm);
    }
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

        const Projection projection(scene.view);
        const double off = choice.framing == Framing::straight_above ? 0.05 : 0.25;
        const double from = 0.5 - off, to = 0.5 + off;
        const double px = random.uniform(from, to) * choice.width_px;
        const double py = random.uniform(from, to) * choice.height_px;
        const Vec2 spot = plan(projection.on_plane(px, py));
        Damage damage;
        const CentreLine* line = nullptr;
        double half_width = 0.0;
        if (kind == SceneKind::webbing) {
            scene.webbing = random_webbing(random);
            const LaidLine laid = laid_straight(random, spot);
            scene.webbing->line = laid.line;
            scene.nominal_mm = std::round(scene.webbing->width_mm);
            damage = hurt_webbing(random, scene, laid.spot_mm);
            line = &scene.webbing->line;
            half_width = scene.webbing->width_mm / 2;
        } else {
            scene.rope = random_rope(random);
            const LaidLine laid = laid_rope(random, spot);
            scene.rope->line = laid.line;
            scene.nominal_mm = std::round(2.0 * scene.rope->diameter_mm) / 2.0;
            if (kind == SceneKind::frayed_rope) damage = fray(random, scene, laid.spot_mm);
            if (kind == SceneKind::core_rope) damage = open_core(random, scene, laid.spot_mm);
            if (kind == SceneKind::flattened_rope) damage = flatten(random, scene, laid.spot_mm);
            line = &scene.rope->line;
            half_width = scene.rope->diameter_mm / 2 * (1.0 + scene.rope->flattened_share);
        }
        // The damage whole in the picture.
        const double depth = projection.depth_of({spot.x, spot.y, 0.0});
        const double room_px =
            (damage.half_length_mm + damage.halo_mm + half_width) * scene.view.focal_px / depth;
        if (!projection.in_frame(projection.pixel_of({spot.x, spot.y, 0.0}), room_px)) continue;

        if (choice.card != CardSort::none && choice.spoil != Spoil::card_missing) {
            scene.card = random_card(random, choice.card);
            const double apart = half_width + damage.halo_mm + random.uniform(4.0, 25.0);
            if (!place_reference(random, scene, *line, apart)) continue;
        }
        if (choice.decoys) add_decoys(random, scene, *line, half_width);
        if (choice.clutter) add_clutter(random, scene, *line, half_width, spot);
        add_glare(random, scene, spot);
        scene.sensor.blur_px = random.uniform(0.5, 1.2);
        scene.sensor.shot = random.uniform(2e-5, 1.5e-4);
        scene.sensor.read = random.uniform(0.0008, 0.003);
        spoil_sharpness(random, scene);
        return scene;
    }
}

}  // namespace frayhold::render
