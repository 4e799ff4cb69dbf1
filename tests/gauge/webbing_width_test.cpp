// SPDX-License-Identifier: Apache-2.0
// Which border is webbing's edge, in rendered pictures whose width is known.
#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/card_scene.h"
#include "gauge/gauge.h"

namespace frayhold::gauge {
namespace {

constexpr double web_width_mm = 18.0;

render::Scene scene_of(const render::Colour& base, const render::Colour& stripe) {
    render::Scene scene = card_scene(3200, 420, 14.0, 0.9, 0.0);
    scene.light.towards = {0.25, 0.55, 0.8};
    scene.bench.sort = render::BenchSort::concrete;
    scene.bench.light = {0.26F, 0.255F, 0.245F};
    scene.bench.dark = {0.20F, 0.195F, 0.185F};
    render::Webbing web;
    web.width_mm = web_width_mm;
    web.thickness_mm = 2.2;
    web.base = base;
    web.stripe = stripe;
    web.thread = {0.05F, 0.2F, 0.08F};
    web.stripe_width_mm = 1.4;
    web.stripe_inset_mm = 1.3;
    web.line = render::CentreLine({-800.0, 70.0}, 0.0, {{1600.0, 0.0}});
    scene.webbing = web;
    return scene;
}

Reading width_in(const render::Scene& scene) {
    Request request;
    request.subject = Subject::webbing;
    request.camera.focal_px = scene.view.focal_px;
    request.camera.focal_u_rel = 0.03;
    request.camera.source = "EXIF";
    const Report report = value_or_throw(measure(render::render(scene).bgr, request));
    const Reading* width = reading_of(report.readings, Measurand::web_width);
    REQUIRE(width != nullptr);
    return *width;
}

void check_width(const render::Scene& scene) {
    const Reading width = width_in(scene);
    CAPTURE(width.value, width.U);
    CHECK(std::abs(width.value - web_width_mm) < width.U);
    CHECK(width.U < 1.0);
}

constexpr render::Colour white{0.66F, 0.64F, 0.58F}, orange{0.69F, 0.35F, 0.03F},
    black{0.033F, 0.037F, 0.042F}, green{0.076F, 0.21F, 0.068F};

}  // namespace

TEST_CASE("A selvedge beyond a stripe is webbing, though it is of the bench's hue") {
    check_width(scene_of(white, orange));
}

TEST_CASE("Light webbing of the bench's hue ends where its light falls, not at a rib within") {
    check_width(scene_of(white, white));
}

TEST_CASE("A deep shadow beside webbing of a strong hue is no webbing") {
    render::Scene scene = scene_of(green, orange);
    scene.bench.sort = render::BenchSort::wood;
    scene.bench.light = {0.22F, 0.12F, 0.065F};
    scene.bench.dark = {0.15F, 0.08F, 0.04F};
    scene.light.towards = {0.25, 0.75, 0.5};
    check_width(scene);
}

TEST_CASE("Grooves between the ribs of webbing darker than the bench are no shadow") {
    check_width(scene_of(black, {0.195F, 0.20F, 0.19F}));
}

}  // namespace frayhold::gauge
