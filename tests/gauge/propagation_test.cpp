// SPDX-License-Identifier: Apache-2.0
// JCGM 101:2008, 8: an analytic budget holds where draws of the same model give the same interval.
#include "gauge/propagation.h"

#include <catch2/catch.hpp>

#include "gauge/gauge.h"
#include "render/render.h"
#include "render/scene.h"

namespace frayhold::gauge {
namespace {

Report measured(render::SceneKind kind, std::uint64_t seed, int draws) {
    render::SceneChoice choice;
    // Fine fibres show only in a picture of full size.
    const bool fine = kind == render::SceneKind::frayed_rope;
    choice.width_px = fine ? 4032 : 2016;
    choice.height_px = fine ? 3024 : 1512;
    choice.framing = render::Framing::card_sixth;
    const render::Scene scene = render::random_scene(seed, kind, choice);
    Request request;
    request.subject = kind == render::SceneKind::webbing ? Subject::webbing : Subject::rope;
    request.camera.focal_px = scene.view.focal_px;
    request.camera.focal_u_rel = 0.03;
    request.camera.source = "EXIF";
    request.monte_carlo_draws = draws;
    return value_or_throw(measure(render::render(scene).bgr, request));
}

}  // namespace

TEST_CASE("Draws of whole views prove the analytic budgets of rope and webbing") {
    constexpr int draws = 4000;
    std::size_t compared = 0;
    for (const auto& [kind, seed] :
         {std::pair(render::SceneKind::rope, 3U), std::pair(render::SceneKind::frayed_rope, 511U),
          std::pair(render::SceneKind::webbing, 4U)}) {
        const Report report = measured(kind, seed, draws);
        for (const Reading& reading : report.readings) {
            if (!reading.monte_carlo) continue;
            INFO(name_of(reading.measurand));
            const Spread& spread = *reading.monte_carlo;
            CHECK(spread.draws == draws);
            // The draws' own doubt: of u 1 / sqrt(2 n), of an end of the interval about three times as much.
            CHECK(spread.u == Approx(reading.u).epsilon(0.06));
            CHECK(spread.mean == Approx(reading.value).margin(0.1 * reading.u));
            CHECK(spread.symmetric.low == Approx(reading.value - reading.U).margin(0.15 * reading.U));
            CHECK(spread.symmetric.high == Approx(reading.value + reading.U).margin(0.15 * reading.U));
            ++compared;
        }
    }
    CHECK(compared >= 6);
}

TEST_CASE("No draws are made unless they are asked for") {
    for (const Reading& reading : measured(render::SceneKind::rope, 3, 0).readings)
        CHECK_FALSE(reading.monte_carlo);
}

}  // namespace frayhold::gauge
