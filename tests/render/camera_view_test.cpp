// SPDX-License-Identifier: Apache-2.0
#include "render/camera_view.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "render/random.h"

namespace frayhold::render {
namespace {

View tilted_view() {
    View view = look_at_bench(4032, 3024, 27.0, 400.0, 0.5, 2.1, 0.8);
    view.k1 = -0.025;
    view.k2 = 0.006;
    return view;
}

}  // namespace

TEST_CASE("Points land where OpenCV's camera model puts them") {
    const View view = tilted_view();
    const Projection projection(view);
    const cv::Matx33d camera_from_bench(view.right.x, view.right.y, view.right.z, view.down.x, view.down.y,
                                        view.down.z, view.forward.x, view.forward.y, view.forward.z);
    CHECK(cv::determinant(camera_from_bench) == Approx(1.0).margin(1e-12));
    cv::Vec3d turn;
    cv::Rodrigues(camera_from_bench, turn);
    const cv::Vec3d shift =
        -(camera_from_bench * cv::Vec3d(view.position.x, view.position.y, view.position.z));
    const cv::Matx33d pin_hole(view.focal_px, 0, 2015.5, 0, view.focal_px, 1511.5, 0, 0, 1);
    Random random(5);
    std::vector<cv::Point3d> points;
    for (int i = 0; i < 50; ++i)
        points.push_back(
            {random.uniform(-150.0, 150.0), random.uniform(-100.0, 100.0), random.uniform(0.0, 30.0)});
    std::vector<cv::Point2d> expected;
    cv::projectPoints(points, turn, shift, pin_hole, cv::Vec4d(view.k1, view.k2, 0, 0), expected);
    for (std::size_t i = 0; i < points.size(); ++i) {
        const Vec2 px = projection.pixel_of({points[i].x, points[i].y, points[i].z});
        CHECK(px.x == Approx(expected[i].x).margin(1e-6));
        CHECK(px.y == Approx(expected[i].y).margin(1e-6));
    }
}

TEST_CASE("A pixel's ray comes back to the pixel") {
    const Projection projection(tilted_view());
    double worst = 0.0;
    for (int y = 0; y < 3024; y += 189)
        for (int x = 0; x < 4032; x += 224) {
            const Vec2 back = projection.pixel_of(projection.on_plane(x, y, 6.0));
            worst = std::max(worst, std::hypot(back.x - x, back.y - y));
        }
    INFO("worst " << worst << " px");
    CHECK(worst < 1e-3);
}

TEST_CASE("Tilt, distance and roll are those asked for") {
    const View view = look_at_bench(4000, 3000, 26.0, 350.0, 0.4, 1.0, 0.3);
    CHECK(length(view.position) == Approx(350.0));
    CHECK(std::acos(-view.forward.z) == Approx(0.4));
    CHECK(std::abs(dot(view.right, view.down)) < 1e-12);
    // A full frame of 36 x 24 mm has a diagonal of 43.27 mm.
    CHECK(view.focal_px == Approx(26.0 * 5000.0 / 43.2666).epsilon(1e-4));
}

}  // namespace frayhold::render
