// SPDX-License-Identifier: Apache-2.0
#include "gauge/rule_fit.h"

#include <catch2/catch.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_scene.h"
#include "gauge/gauge.h"

namespace frayhold::gauge {
namespace {

// A line of known length on the bench, both ends as the renderer's camera sees them.
struct Sight {
    render::Scene scene;
    View truth;
    [[nodiscard]] cv::Point2d px(double x_mm, double y_mm) const {
        return truth.picture_from_bench({x_mm, y_mm});
    }
};

Sight sight(double tilt_deg) {
    Sight out{card_scene(1600, 300, tilt_deg, 0.4, 0.3), View({}, {}, 0)};
    out.truth = true_view(out.scene.view, *out.scene.card);
    return out;
}

Request rule_request(const Sight& seen) {
    Request request;
    request.camera.focal_px = seen.scene.view.focal_px;
    request.camera.focal_u_rel = 0.02;
    request.rule = RuleMark{{seen.px(0, 60), seen.px(80, 60)}, Millimetres(80)};
    request.marks.push_back({Measurand::distance, {seen.px(5, 75), seen.px(5, 115)}, ""});
    request.nominal = Millimetres(0.01);
    return request;
}

}  // namespace

TEST_CASE("Square on, two points of a rule scale the whole bench") {
    const Sight seen = sight(0);
    const CameraPrior prior = camera_prior(rule_request(seen).camera, {1600, 1200});
    const auto fit = fit_rule(*rule_request(seen).rule, prior, 1.5);
    REQUIRE(fit);
    const auto from = fit->view.bench_from_picture(seen.px(5, 75)),
               to = fit->view.bench_from_picture(seen.px(5, 115));
    REQUIRE((from && to));
    CHECK(cv::norm(*from - *to) == Approx(40).epsilon(0.005));
    CHECK(fit->view.tilt() == Approx(0).margin(1e-9));
    // No card lies in the picture: its frame begins far away.
    CHECK(from->x > 1000);
}

TEST_CASE("What a tilt does to a length lies within U, and the report says what it rests on") {
    for (const double tilt : {0.0, 10.0, 20.0, 30.0}) {
        const Sight seen = sight(tilt);
        const cv::Mat bgr = render::render(seen.scene).bgr;
        const auto report = measure(bgr, rule_request(seen));
        REQUIRE(report);
        INFO("tilt " << tilt);
        REQUIRE(report->quality.usable);
        REQUIRE(report->card);
        CHECK(report->card->kind == CardKind::rule_by_hand);
        CHECK(report->card->note.find("not corrected") != std::string::npos);
        REQUIRE_FALSE(report->readings.empty());
        const Reading& distance = report->readings.back();
        CHECK(distance.measurand == Measurand::distance);
        CHECK(std::abs(distance.value - 40) < distance.U);
        CHECK(distance.U < 12);
        CHECK(distance.budget.front().source.find("rule") != std::string::npos);
    }
}

TEST_CASE("A rule whose points lie on one another, and a rule beside corners, are refused") {
    const Sight seen = sight(0);
    Request request = rule_request(seen);
    request.rule->points_px[1] = request.rule->points_px[0] + cv::Point2d(5, 0);
    const cv::Mat bgr = render::render(seen.scene).bgr;
    auto refused = measure(bgr, request);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().where == "rule");
    request = rule_request(seen);
    request.corners_px = {seen.px(0, 0), seen.px(85.6, 0), seen.px(85.6, 53.98), seen.px(0, 53.98)};
    refused = measure(bgr, request);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().fault == Fault::usage);
}

}  // namespace frayhold::gauge
