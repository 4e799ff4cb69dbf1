// SPDX-License-Identifier: Apache-2.0
#include "gauge/round_item.h"

#include <cmath>

namespace frayhold::gauge {
namespace {

// The triangle in the plane across the axis: its base on the reference plane and its two upper sides.
struct Triangle {
    double base_mm;
    double left_side_mm;
    double right_side_mm;
    double height_mm;
};

Triangle triangle_across(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera) {
    const double base = cv::norm(right_mm - left_mm);
    const cv::Point2d across = (right_mm - left_mm) / base;
    const double camera_at = (cv::Point2d(camera.x, camera.y) - left_mm).dot(across);
    return {base, std::hypot(camera_at, camera.z), std::hypot(base - camera_at, camera.z), camera.z};
}

}  // namespace

SightedEllipse ellipse_on_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera,
                                   double aspect) {
    const Triangle t = triangle_across(left_mm, right_mm, {camera.x, camera.y, camera.z * aspect});
    return {2 * t.height_mm * t.base_mm / (t.base_mm + t.left_side_mm + t.right_side_mm),
            (t.base_mm + t.left_side_mm - t.right_side_mm) / 2};
}

SightedEllipse ellipse_about_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera,
                                      double aspect) {
    const Triangle t = triangle_across(left_mm, right_mm, {camera.x, camera.y, camera.z * aspect});
    const double foot_mm = t.base_mm * t.left_side_mm / (t.left_side_mm + t.right_side_mm);
    return {2 * foot_mm * t.height_mm / t.left_side_mm, foot_mm};
}

cv::Point2d raised(cv::Point2d plane_mm, double height_mm, cv::Point3d camera) {
    const cv::Point2d below_camera(camera.x, camera.y);
    return plane_mm + (below_camera - plane_mm) * (height_mm / camera.z);
}

}  // namespace frayhold::gauge
