// SPDX-License-Identifier: Apache-2.0
#include "gauge/follow.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/card_design.h"
#include "gauge/card_fit.h"
#include "gauge/propagation.h"

using namespace frayhold;
using namespace frayhold::gauge;

namespace {

using Corners = std::array<cv::Point2d, 4>;

constexpr int width_px = 4000, height_px = 3000;

// An ID-1 card as a camera 350 mm above sees it, tilted by some 15 degrees.
Corners seen_card() {
    const View view({std::log(3000.0), 0.0, 0.25, 0.1, 0.1, -40.0, -20.0, 350.0},
                    {(width_px - 1) / 2.0, (height_px - 1) / 2.0}, 0.0);
    return {view.picture_from_bench({0, 0}), view.picture_from_bench({id1_width_mm, 0}),
            view.picture_from_bench({id1_width_mm, id1_height_mm}),
            view.picture_from_bench({0, id1_height_mm})};
}
const Corners card = seen_card();

Camera a_camera() {
    Camera camera;
    camera.focal_px = 3000.0;
    camera.focal_u_rel = 0.03;
    camera.source = "given";
    return camera;
}

// Two points and a triangle of the picture, held fixed, as any view shows them 5 mm above the bench.
constexpr double height_mm = 5.0;
double length_in(const View& view) {
    return cv::norm(*view.bench_from_picture({900, 800}, height_mm) -
                    *view.bench_from_picture({3000, 1100}, height_mm));
}
double area_in(const View& view) {
    const cv::Point2d a = *view.bench_from_picture({900, 800}, height_mm),
                      b = *view.bench_from_picture({3000, 1100}, height_mm),
                      c = *view.bench_from_picture({2000, 1500}, height_mm);
    return std::abs((b - a).cross(c - a)) / 2;
}

Report measured(const Corners& corners) {
    const ViewFit fit = value_or_throw(
        fit_corners(corners, camera_prior(a_camera(), {width_px, height_px}), corner_pick_u_px));
    const Propagation propagation(fit, {0.001, "card size as printed"}, "given", 0);
    Report report;
    report.view = fit.view;
    report.readings.push_back(propagation.reading(Measurand::distance, length_in, {}, {}));
    report.readings.push_back(propagation.reading(Measurand::area, area_in, {}, {}));
    return report;
}

}  // namespace

TEST_CASE(
    "While a corner moves, values follow as measuring anew would have them, to the square of the move") {
    const Report base = measured(card);
    double worst_near = 0.0, worst_far = 0.0;
    for (std::size_t corner = 0; corner < 4; ++corner)
        for (const cv::Point2d way :
             {cv::Point2d(1, 0), cv::Point2d(0, 1), cv::Point2d(-0.7, 0.7), cv::Point2d(-0.7, -0.7)})
            for (const double far_px : {2.0, 6.0}) {
                Corners moved = card;
                moved[corner] += far_px * way;
                const Report anew = measured(moved);
                const auto readings =
                    value_or_throw(followed(base, a_camera(), {width_px, height_px}, moved));
                for (std::size_t i = 0; i < readings.size(); ++i) {
                    const double off = std::abs(readings[i].value / anew.readings[i].value - 1);
                    (far_px < 4 ? worst_near : worst_far) =
                        std::max(far_px < 4 ? worst_near : worst_far, off);
                }
            }
    INFO("worst after 2 px " << worst_near << ", after 6 px " << worst_far);
    CHECK(worst_near < 0.0002);
    CHECK(worst_far < 0.0015);
}

TEST_CASE("A corner that did not move changes nothing") {
    const Report base = measured(card);
    const auto readings = value_or_throw(followed(base, a_camera(), {width_px, height_px}, card));
    for (std::size_t i = 0; i < readings.size(); ++i) {
        CHECK(readings[i].value == Approx(base.readings[i].value).epsilon(1e-9));
        CHECK(readings[i].U == base.readings[i].U);
    }
}

TEST_CASE("Corners that are no card, or nothing measured before, give an error") {
    const Report base = measured(card);
    CHECK_FALSE(followed(base, a_camera(), {width_px, height_px}, {card[0], card[3], card[2], card[1]}));
    CHECK_FALSE(followed(Report{}, a_camera(), {width_px, height_px}, card));
}
