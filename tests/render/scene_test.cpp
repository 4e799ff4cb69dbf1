// SPDX-License-Identifier: Apache-2.0
#include "render/scene.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "render/camera_view.h"
#include "render/placing.h"
#include "render/render.h"

namespace frayhold::render {
namespace {

int corners_in_frame(const Scene& scene, const Truth& truth) {
    int inside = 0;
    const Projection projection(scene.view);
    for (const cv::Point2d& corner : truth.card_corners_px.value())
        if (projection.in_frame({corner.x, corner.y}, 0.0)) ++inside;
    return inside;
}

}  // namespace

TEST_CASE("Random scenes keep what they promise") {
    for (const SceneKind kind : {SceneKind::rope, SceneKind::frayed_rope, SceneKind::core_rope,
                                 SceneKind::flattened_rope, SceneKind::webbing})
        for (std::uint64_t seed = 1; seed <= 12; ++seed) {
            const Scene scene = random_scene(seed, kind);
            const Truth truth = truth_of(scene);
            INFO("kind " << static_cast<int>(kind) << " seed " << seed);
            CHECK(corners_in_frame(scene, truth) == 4);
            CHECK(truth.tilt_deg <= 35.0 + 1e-9);
            CHECK(std::abs(truth.k1) <= 0.03);
            CHECK(truth.sound_width.has_value() == (kind != SceneKind::webbing));
            CHECK(truth.web_width.has_value() == (kind == SceneKind::webbing));
            CHECK(truth.fray_width.has_value() ==
                  (kind == SceneKind::frayed_rope || kind == SceneKind::core_rope));
            CHECK(truth.core_area.has_value() == (kind == SceneKind::core_rope));
            CHECK(truth.local_width.has_value() == (kind == SceneKind::flattened_rope));
            if (truth.fray_width) {
                CHECK(*truth.fray_width >= *truth.fray_dense_width);
                CHECK(*truth.fray_dense_width >= *truth.sound_width);
            }
            const CentreLine& line = scene.rope ? scene.rope->line : scene.webbing->line;
            const double half = scene.rope ? scene.rope->diameter_mm / 2 : scene.webbing->width_mm / 2;
            CHECK(clearance(*scene.card, line) > half);
        }
}

TEST_CASE("A card a sixth of the frame is a sixth of the frame") {
    SceneChoice choice;
    choice.framing = Framing::card_sixth;
    double sum = 0.0;
    constexpr int count = 40;
    for (std::uint64_t seed = 1; seed <= count; ++seed) {
        const Truth truth = truth_of(random_scene(seed, SceneKind::rope, choice));
        const auto& px = *truth.card_corners_px;
        // Mean of the long sides, free of tilt to first order only: hence the mean over scenes.
        sum += 0.5 * (cv::norm(px[1] - px[0]) + cv::norm(px[2] - px[3]));
    }
    CHECK(sum / count == Approx(4032.0 / 6.0).epsilon(0.08));
}

TEST_CASE("Spoilt scenes are spoilt") {
    for (std::uint64_t seed = 1; seed <= 10; ++seed) {
        SceneChoice choice;
        choice.spoil = Spoil::card_cut_off;
        const Scene cut = random_scene(seed, SceneKind::rope, choice);
        CHECK(corners_in_frame(cut, truth_of(cut)) < 4);
        choice.spoil = Spoil::card_missing;
        CHECK_FALSE(random_scene(seed, SceneKind::rope, choice).card.has_value());
        choice.spoil = Spoil::card_under_item;
        const Scene under = random_scene(seed, SceneKind::rope, choice);
        CHECK(clearance(*under.card, under.rope->line) < under.rope->diameter_mm / 2);
        choice.spoil = Spoil::defocus;
        CHECK(random_scene(seed, SceneKind::rope, choice).sensor.blur_px >= 6.0);
    }
}

}  // namespace frayhold::render
