// SPDX-License-Identifier: Apache-2.0
#include "gauge/view.h"

#include <catch2/catch.hpp>
#include <random>

#include "gauge/card_scene.h"

namespace frayhold::gauge {
namespace {

struct Setting {
    render::View camera;
    render::Flat card;
    View view;
};

Setting random_setting(std::mt19937& random) {
    const auto uniform = [&](double a, double b) {
        return std::uniform_real_distribution<double>(a, b)(random);
    };
    Setting setting{render::look_at_bench(4032, 3024, uniform(24, 52), uniform(250, 700), uniform(0.0, 0.7),
                                          uniform(0, 6.28), uniform(0, 6.28)),
                    {},
                    View({}, {}, 0)};
    setting.camera.k1 = uniform(-0.03, 0.03);
    setting.camera.k2 = uniform(-0.008, 0.008);
    setting.card.middle = {uniform(-40, 40), uniform(-40, 40)};
    setting.card.heading = uniform(0, 6.28);
    setting.view = true_view(setting.camera, setting.card);
    return setting;
}

}  // namespace

TEST_CASE("A hand-worked pin-hole view: 1000 px of focal length, 500 mm straight above the card's corner") {
    const View view({std::log(1000.0), 0, 0, 0, 0, 0, 0, 500}, {100, 50}, 0);
    const cv::Point2d px = view.picture_from_bench({10, 20});
    CHECK(px.x == Approx(120));
    CHECK(px.y == Approx(90));
    // 100 mm up is 400 mm away: 10 / 400 * 1000 = 25 px.
    CHECK(view.picture_from_bench({10, 20}, 100).x == Approx(125));
    CHECK(view.camera_in_bench().z == Approx(500));
    CHECK(view.tilt() == Approx(0).margin(1e-7));
    CHECK(view.distance_mm({30, 40}) == Approx(std::hypot(50, 500)));
    CHECK(view.mm_per_px({10, 20}) == Approx(0.5));
    CHECK(view.mm_per_px({10, 20}, 100) == Approx(0.4));
}

// Two routes to one answer: the renderer projects from a z-up world with a look-at camera and no rotation
// vector.
TEST_CASE("Bench points, raised or not, fall where the renderer's camera sees them") {
    std::mt19937 random(7);
    for (int i = 0; i < 200; ++i) {
        const Setting s = random_setting(random);
        const render::Projection projection(s.camera);
        const auto corners = *render::truth_of([&] {
                                  render::Scene scene;
                                  scene.view = s.camera;
                                  scene.card = s.card;
                                  return scene;
                              }())
                                  .card_corners_px;
        CHECK(cv::norm(s.view.picture_from_bench({0, 0}) - corners[0]) < 1e-7);
        CHECK(cv::norm(s.view.picture_from_bench({id1_width_mm, id1_height_mm}) - corners[2]) < 1e-7);
        const render::Vec2 px = projection.pixel_of({s.card.middle.x, s.card.middle.y, 8.0});
        const cv::Point2d raised = s.view.picture_from_bench({id1_width_mm / 2, id1_height_mm / 2}, 8.0);
        CHECK(cv::norm(raised - cv::Point2d(px.x, px.y)) < 1e-7);
        CHECK(s.view.camera_in_bench().z == Approx(s.camera.position.z).epsilon(1e-9));
        CHECK(s.view.tilt() == Approx(std::acos(-s.camera.forward.z)).margin(1e-6));
    }
}

TEST_CASE("A bench point comes back from its pixel, at its height and through the lens") {
    std::mt19937 random(11);
    double worst = 0.0;
    for (int i = 0; i < 1000; ++i) {
        const Setting s = random_setting(random);
        const double height = std::uniform_real_distribution<double>(0, 15)(random);
        const cv::Point2d px(std::uniform_real_distribution<double>(0, 4031)(random),
                             std::uniform_real_distribution<double>(0, 3023)(random));
        const auto bench = s.view.bench_from_picture(px, height);
        REQUIRE(bench);
        worst = std::max(worst, cv::norm(s.view.picture_from_bench(*bench, height) - px));
    }
    CAPTURE(worst);
    CHECK(worst < 1e-8);
}

TEST_CASE("The gradient of a view is what small steps of its parameters show") {
    std::mt19937 random(13);
    const auto uniform = [&](double a, double b) {
        return std::uniform_real_distribution<double>(a, b)(random);
    };
    constexpr std::array<double, View::parameter_count> steps{1e-5, 1e-4, 1e-5, 1e-5, 1e-5, 1e-3, 1e-3, 1e-3};
    for (int i = 0; i < 50; ++i) {
        const Setting setting = random_setting(random);
        // A view without any rotation is the formula's own special case.
        const View view =
            i > 0 ? setting.view : View({std::log(3000.0), 0.01, 0, 0, 0, -40, -30, 400}, {2016, 1512}, 0);
        const cv::Point2d at(uniform(-50, 130), uniform(-50, 100));
        const double angle = uniform(0, 6.28);
        const cv::Point2d across(std::cos(angle), std::sin(angle));
        const View::Parameters gradient = View::Gradient(view).of(at, across);
        for (int k = 0; k < View::parameter_count; ++k) {
            const double step = steps[static_cast<std::size_t>(k)];
            View::Parameters forward = view.parameters(), back = forward;
            forward[k] += step;
            back[k] -= step;
            const double seen =
                (view.with(forward).picture_from_bench(at) - view.with(back).picture_from_bench(at))
                    .dot(across) /
                (2 * step);
            CAPTURE(i, k);
            CHECK(gradient[k] == Approx(seen).epsilon(1e-5).margin(1e-4));
        }
    }
}

TEST_CASE("A pixel above the horizon and a lens that folds back give no bench point") {
    // Tilted by 80 degrees: the upper part of the picture looks over the bench's far edge.
    const View low({std::log(1000.0), 0, -80 * CV_PI / 180, 0, 0, 0, 0, 500}, {500, 500}, 0);
    CHECK((low.bench_from_picture({500, 0}).has_value() != low.bench_from_picture({500, 1000}).has_value()));
    const View barrel({std::log(1000.0), -0.4, 0, 0, 0, 0, 0, 500}, {0, 0}, 0);
    CHECK(barrel.bench_from_picture({300, 0}));
    CHECK_FALSE(barrel.bench_from_picture({1500, 0}));
}

}  // namespace frayhold::gauge
