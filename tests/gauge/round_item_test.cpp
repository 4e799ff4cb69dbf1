// SPDX-License-Identifier: Apache-2.0
#include "gauge/round_item.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

namespace frayhold::gauge {
namespace {

// Of a round item.
double diameter_on_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera) {
    return ellipse_on_plane_mm(left_mm, right_mm, camera, 1.0).width_mm;
}
double diameter_about_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera) {
    return ellipse_about_plane_mm(left_mm, right_mm, camera, 1.0).width_mm;
}

constexpr double pi = 3.14159265358979323846;

// A long cylinder and the place where its two edges of sight meet the plane, found without any formula for
// tangents: along the surface, an edge of sight is where the line of sight runs in the surface (n . (p -
// camera) = 0).
struct Cylinder {
    double radius_mm;
    double axis_height_mm;
    cv::Point2d axis_point;
    double heading;

    cv::Point2d along() const { return {std::cos(heading), std::sin(heading)}; }
    cv::Point2d across() const { return {-std::sin(heading), std::cos(heading)}; }

    cv::Point3d normal(double angle) const {
        return {across().x * std::cos(angle), across().y * std::cos(angle), std::sin(angle)};
    }
    double facing(double angle, cv::Point3d camera) const {
        const cv::Point3d n = normal(angle);
        const cv::Point3d p = cv::Point3d(axis_point.x, axis_point.y, axis_height_mm) + n * radius_mm;
        return n.dot(camera - p);
    }
    // From the angle that looks straight at the camera, turning one way until the surface is seen edge on.
    double edge_angle(cv::Point3d camera, double turn) const {
        const cv::Point2d to_camera = cv::Point2d(camera.x, camera.y) - axis_point;
        const double front = std::atan2(camera.z - axis_height_mm, to_camera.dot(across()));
        double seen = front, hidden = front + turn * pi;
        for (int i = 0; i < 200; ++i) {
            const double middle = (seen + hidden) / 2;
            (facing(middle, camera) > 0 ? seen : hidden) = middle;
        }
        return seen;
    }
    // Where the edge of sight meets the plane, at the axis point's own station.
    cv::Point2d sighted(cv::Point3d camera, double turn) const {
        const cv::Point3d n = normal(edge_angle(camera, turn));
        const cv::Point3d p = cv::Point3d(axis_point.x, axis_point.y, axis_height_mm) + n * radius_mm;
        const double reach = camera.z / (camera.z - p.z);
        const cv::Point3d hit = camera + (p - camera) * reach;
        const cv::Point2d d = cv::Point2d(hit.x, hit.y) - axis_point;
        return axis_point + across() * d.dot(across());
    }
};

}  // namespace

TEST_CASE("The diameter comes back from edges of sight, wherever the camera stands") {
    std::mt19937 random(3);
    const auto uniform = [&](double a, double b) {
        return std::uniform_real_distribution<double>(a, b)(random);
    };
    double worst_on = 0.0, worst_about = 0.0;
    for (int i = 0; i < 2000; ++i) {
        const cv::Point3d camera(uniform(-300, 300), uniform(-300, 300), uniform(200, 800));
        Cylinder rope{uniform(3, 10), 0, {uniform(-150, 150), uniform(-150, 150)}, uniform(0, 2 * pi)};
        rope.axis_height_mm = rope.radius_mm;
        worst_on = std::max(worst_on, std::abs(diameter_on_plane_mm(rope.sighted(camera, 1),
                                                                    rope.sighted(camera, -1), camera) -
                                               2 * rope.radius_mm));
        rope.axis_height_mm = 0;
        worst_about = std::max(
            worst_about,
            std::abs(diameter_about_plane_mm(rope.sighted(camera, 1), rope.sighted(camera, -1), camera) -
                     2 * rope.radius_mm));
    }
    CAPTURE(worst_on, worst_about);
    CHECK(worst_on < 1e-9);
    CHECK(worst_about < 1e-9);
}

// 11 mm under a camera 400 mm up: the centre is 394.5 mm away, so a ray that grazes it has the slope
// 5.5 / sqrt(394.5^2 - 5.5^2) and meets the bench 400 times that aside: 5.57722 mm, so 11.1544 mm, 1.4 % too
// wide.
TEST_CASE("A worked number: the bench reads 11 mm as 11.154") {
    const double aside = 400 * 5.5 / std::sqrt(394.5 * 394.5 - 5.5 * 5.5);
    CHECK(2 * aside == Approx(11.1544).epsilon(1e-5));
    CHECK(diameter_on_plane_mm({-aside, 0}, {aside, 0}, {0, 0, 400}) == Approx(11.0).epsilon(1e-12));
    // Seen with its axis in the plane: 5.5 / sqrt(400^2 - 5.5^2) * 400.
    const double level = 400 * 5.5 / std::sqrt(400.0 * 400.0 - 5.5 * 5.5);
    CHECK(diameter_about_plane_mm({-level, 0}, {level, 0}, {0, 0, 400}) == Approx(11.0).epsilon(1e-12));
}

// Seen from far off at 45 degrees, an ellipse of half axes a and b shows sqrt(a^2 + b^2) to either side of
// the line of sight through its middle, which meets the bench b aside of its foot; on the bench sqrt(2) as
// much.
TEST_CASE("A flattened item's width and foot come back from edges of sight") {
    constexpr double a = 6.0, b = 4.0, far = 1e7;
    const double breadth = std::sqrt(a * a + b * b);
    // From the right, so that the middle is seen to the left of the foot.
    const auto seen = ellipse_on_plane_mm({-b - breadth, 0}, {-b + breadth, 0}, {far, 0, far}, a / b);
    CHECK(seen.width_mm == Approx(2 * a).epsilon(1e-5));
    CHECK(seen.foot_mm == Approx(b + breadth).epsilon(1e-5));
    const auto about = ellipse_about_plane_mm({-breadth, 0}, {breadth, 0}, {far, 0, far}, a / b);
    CHECK(about.width_mm == Approx(2 * a).epsilon(1e-5));
    CHECK(about.foot_mm == Approx(breadth).epsilon(1e-5));
}

TEST_CASE("A raised point is found below where its line of sight meets the plane") {
    const cv::Point3d camera(100, -50, 400), real(30, 60, 11);
    const cv::Point3d hit = camera + (real - camera) * (camera.z / (camera.z - real.z));
    const cv::Point2d found = raised({hit.x, hit.y}, real.z, camera);
    CHECK(found.x == Approx(real.x).epsilon(1e-12));
    CHECK(found.y == Approx(real.y).epsilon(1e-12));
}

}  // namespace frayhold::gauge
