// SPDX-License-Identifier: Apache-2.0
// Diameters of the ropes and cords that the standards speak of, all from memory: EN 1891:1998, low-stretch
// ropes, 8.5 to 16 mm; EN 892, dynamic single, half and twin ropes, in use some 7.5 to 11 mm; EN 564,
// accessory cord, 4 to 8 mm, of which 6 mm and more are looked for without being told how thick.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/gauge.h"
#include "render/render.h"
#include "render/scene.h"

namespace frayhold {
namespace {

// A rendered rope made so thick, found and measured without being told how thick it is.
gauge::Reading sound_width_of(double diameter_mm, std::uint64_t seed) {
    render::SceneChoice choice;
    choice.framing = render::Framing::card_sixth;
    choice.clutter = false;
    render::Scene scene = render::random_scene(seed, render::SceneKind::rope, choice);
    scene.rope->diameter_mm = diameter_mm;
    gauge::Request request;
    request.camera.focal_px = scene.view.focal_px;
    request.camera.focal_u_rel = 0.03;
    const gauge::Report report = value_or_throw(gauge::measure(render::render(scene).bgr, request));
    REQUIRE(report.quality.usable);
    const auto reading =
        std::find_if(report.readings.begin(), report.readings.end(),
                     [](const gauge::Reading& r) { return r.measurand == gauge::Measurand::sound_width; });
    REQUIRE(reading != report.readings.end());
    return *reading;
}

}  // namespace

TEST_CASE("Cord of 6 mm and ropes of the thinnest and thickest sizes are found and measured within U") {
    for (const double diameter_mm : {6.0, 7.5, 8.5, 11.0, 16.0}) {
        INFO(diameter_mm << " mm");
        const gauge::Reading reading = sound_width_of(diameter_mm, 41);
        CHECK(std::abs(reading.value - diameter_mm) <= reading.U);
        CHECK(reading.U < 0.1 * diameter_mm);
    }
}

}  // namespace frayhold
