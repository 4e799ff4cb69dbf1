// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/card_scene.h"
#include "gauge/gauge.h"

namespace frayhold::gauge {
namespace {

constexpr double width_mm = 30.0;
constexpr double half_way_up_mm = 1.125;
constexpr double length_mm = 80.0, breadth_mm = 12.0;

// A straight webbing that lies beside the card, seen aslant.
struct Sight {
    render::Scene scene;
    cv::Mat bgr;

    explicit Sight(double tilt_deg) : scene(card_scene(1600, 300, tilt_deg, 0.4, 0.3)) {
        render::Webbing web;
        web.width_mm = width_mm;
        web.thickness_mm = 2 * half_way_up_mm;
        web.base = {0.45F, 0.06F, 0.05F};
        web.stripe = web.thread = web.base;
        web.line = render::CentreLine({-600.0, middle_y_mm}, 0.0, {{1200.0, 0.0}});
        scene.webbing = web;
        bgr = render::render(scene).bgr;
    }
    // A point of the webbing half-way up it, from the middle of what is marked.
    [[nodiscard]] cv::Point2d px(double along_mm, double across_mm) const {
        const render::Vec2 at =
            render::Projection(scene.view).pixel_of({along_mm, middle_y_mm + across_mm, half_way_up_mm});
        return {at.x, at.y};
    }
    [[nodiscard]] double camera_height_mm() const { return scene.view.position.z; }
    [[nodiscard]] Reading measured(Measurand measurand, const std::vector<cv::Point2d>& points_px,
                                   Level level = Level::bench) const {
        Request request;
        request.subject = Subject::webbing;
        request.nominal = Millimetres(width_mm);
        request.camera.focal_px = scene.view.focal_px;
        request.camera.focal_u_rel = 0.005;
        request.level = level;
        request.marks.push_back({measurand, points_px, ""});
        const Report report = value_or_throw(measure(bgr, request));
        REQUIRE(report.quality.usable);
        const Reading* reading = reading_of(report.readings, measurand);
        REQUIRE(reading != nullptr);
        return *reading;
    }

    static constexpr double middle_y_mm = 62.0;
};

double u_from(const Reading& reading, const std::string& source) {
    const auto line = std::find_if(reading.budget.begin(), reading.budget.end(),
                                   [&](const BudgetLine& l) { return l.source == source; });
    REQUIRE(line != reading.budget.end());
    return line->u;
}

}  // namespace

TEST_CASE("A mark on webbing stands half-way up it, however wide it is") {
    const Sight seen(GENERATE(0.0, 25.0));
    const Reading distance =
        seen.measured(Measurand::distance, {seen.px(-length_mm / 2, 0), seen.px(length_mm / 2, 0)});
    // On the bench it would be read 0.3 mm too long, half-way up a rope as wide 4 mm too short.
    CHECK(distance.value == Approx(length_mm).margin(0.08));
    // A rectangle over the thickness: so much the nearer to the camera, so much the shorter.
    CHECK(u_from(distance, "height of the points on the item") ==
          Approx(length_mm * half_way_up_mm / std::sqrt(3.0) / seen.camera_height_mm()).epsilon(0.02));
    CHECK(std::abs(distance.value - length_mm) < distance.U);
}

TEST_CASE("An area on webbing is that of its plane half-way up") {
    const Sight seen(20.0);
    const double a = length_mm / 2, b = breadth_mm / 2;
    const Reading area =
        seen.measured(Measurand::area, {seen.px(-a, -b), seen.px(a, -b), seen.px(a, b), seen.px(-a, b)});
    const double truth = length_mm * breadth_mm;
    CHECK(area.value == Approx(truth).epsilon(0.002));
    CHECK(std::abs(area.value - truth) < area.U);
}

TEST_CASE("Where the card was raised to the webbing's middle, a mark stands on the card's plane") {
    const Sight seen(0.0);
    const Reading distance = seen.measured(
        Measurand::distance, {seen.px(-length_mm / 2, 0), seen.px(length_mm / 2, 0)}, Level::item);
    const double height = seen.camera_height_mm();
    CHECK(distance.value == Approx(length_mm * height / (height - half_way_up_mm)).margin(0.08));
}

}  // namespace frayhold::gauge
