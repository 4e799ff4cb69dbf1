// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_fit.h"

#include <catch2/catch.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_scene.h"

namespace frayhold::gauge {
namespace {

constexpr double degree = CV_PI / 180;

Camera known_camera(const render::Scene& scene, double u_rel = 0.01) {
    Camera camera;
    camera.focal_px = scene.view.focal_px;
    camera.focal_u_rel = u_rel;
    camera.source = "given";
    return camera;
}

Result<ViewFit> fit(const cv::Mat& bgr, const Camera& camera) {
    return fit_card(bgr, find_markers(bgr, reduced_picture(bgr)), camera_prior(camera, bgr.size()));
}

}  // namespace

TEST_CASE("The printed card is fitted to a tenth of a pixel at any roll and to 35 degrees of tilt") {
    double sum = 0.0;
    for (int i = 0; i < 8; ++i) {
        render::Scene scene = card_scene(1400, 280 + 30 * i, 5.0 * i, 0.8 * i, 0.79 * i);
        scene.card->heading = 2.3 * i;
        scene.card->middle = {8.0 * (i % 3 - 1), 6.0 * (i % 2)};
        const auto found = fit(render::render(scene).bgr, known_camera(scene));
        INFO("setting " << i);
        REQUIRE(found);
        const View truth = true_view(scene.view, *scene.card);
        // The worst of four corners, each an extrapolation; the mean of those over all settings below.
        CHECK(worst_corner_px(found->view, truth) < 0.15);
        sum += worst_corner_px(found->view, truth) / 8;
        const cv::Point2d middle(id1_width_mm / 2, id1_height_mm / 2);
        CHECK(found->view.tilt() == Approx(truth.tilt()).margin(1.0 * degree));
        CHECK(found->view.distance_mm(middle) == Approx(truth.distance_mm(middle)).epsilon(0.02));
        CHECK(found->rms_px < 0.2);
        CHECK(found->seen_fraction > 0.8);
    }
    CHECK(sum < 0.1);
}

TEST_CASE("A tilted card tells an unknown focal length, within what the fit says of it") {
    render::Scene scene = card_scene(1400, 260, 35, 0.4, 0.2);
    const auto found = fit(render::render(scene).bgr, {});
    REQUIRE(found);
    const double u = std::sqrt(found->covariance(View::log_focal, View::log_focal));
    CHECK(u < 0.1);
    CHECK(std::abs(std::log(found->view.focal_px() / scene.view.focal_px)) < 3 * u);
}

TEST_CASE("Square on, the focal length stays as unknown as it was, and the corners are right all the same") {
    const render::Scene scene = card_scene(1400, 400, 0, 0, 0.3);
    const auto found = fit(render::render(scene).bgr, {});
    REQUIRE(found);
    CHECK(std::sqrt(found->covariance(View::log_focal, View::log_focal)) > 0.1);
    CHECK(worst_corner_px(found->view, true_view(scene.view, *scene.card)) < 0.1);
}

TEST_CASE("Half a card is enough") {
    for (int quarter = 0; quarter < 4; ++quarter) {
        render::Scene scene = card_scene(1400, 350, 15, 0.8, 0.5);
        scene.card->heading = quarter * CV_PI / 2;
        render::Rendered rendered = render::render(scene);
        const View truth = true_view(scene.view, *scene.card);
        // Something dull lies over the card's left half and well past it.
        std::vector<cv::Point> cover;
        for (const cv::Point2d p :
             {cv::Point2d(-30, -30), cv::Point2d(43, -30), cv::Point2d(43, 90), cv::Point2d(-30, 90)})
            cover.emplace_back(truth.picture_from_bench(p));
        cv::fillConvexPoly(rendered.bgr, cover, cv::Scalar(70, 90, 120), cv::LINE_AA);
        const auto found = fit(rendered.bgr, known_camera(scene));
        INFO("quarter " << quarter);
        REQUIRE(found);
        CHECK(found->seen_fraction < 0.65);
        // The hidden corners are an extrapolation over the length of half a card.
        CHECK(worst_corner_px(found->view, truth) < 0.5);
    }
}

TEST_CASE("No card is found where none lies, nor where only its marks do") {
    render::Scene scene = card_scene(1400, 350, 15, 0.8, 0.5);
    render::Rendered rendered = render::render(scene);
    const auto markers = find_markers(rendered.bgr, reduced_picture(rendered.bgr));
    scene.card.reset();
    const cv::Mat bare = render::render(scene).bgr;
    CHECK(find_markers(bare, reduced_picture(bare)).empty());
    CHECK_FALSE(fit(bare, known_camera(scene)));
    // Marks as if seen, but no edge to bear them out.
    CHECK_FALSE(fit_card(bare, markers, camera_prior(known_camera(scene), bare.size())));
}

TEST_CASE("Four corners by hand give the view, and points in the wrong order do not") {
    const render::Scene scene = card_scene(1400, 350, 25, 0.8, 0.5);
    const auto corners = *render::truth_of(scene).card_corners_px;
    const CameraPrior prior = camera_prior(known_camera(scene), {1400, 1050});
    const auto found = fit_corners(corners, prior, 1.5);
    REQUIRE(found);
    CHECK(worst_corner_px(found->view, true_view(scene.view, *scene.card)) < 0.3);
    CHECK_FALSE(fit_corners({corners[3], corners[2], corners[1], corners[0]}, prior, 1.5));
    CHECK_FALSE(fit_corners({corners[0], corners[2], corners[1], corners[3]}, prior, 1.5));
}

}  // namespace frayhold::gauge
