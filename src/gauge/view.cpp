// SPDX-License-Identifier: Apache-2.0
#include "gauge/view.h"

#include <cmath>

namespace frayhold::gauge {
namespace {

// The matrix that takes the cross product with a vector.
cv::Matx33d cross_with(const cv::Vec3d& v) {
    return {0, -v[2], v[1], v[2], 0, -v[0], -v[1], v[0], 0};
}

// Rodrigues' formula, as a plain function: it is called some ten thousand times a photo.
cv::Matx33d rotation_matrix(const cv::Vec3d& r) {
    const double angle = std::sqrt(r.dot(r));
    const double a = angle < 1e-9 ? 1.0 : std::sin(angle) / angle;
    const double b = angle < 1e-9 ? 0.5 : (1.0 - std::cos(angle)) / (angle * angle);
    const cv::Matx33d cross = cross_with(r);
    return cv::Matx33d::eye() + a * cross + b * (cross * cross);
}

}  // namespace

View::View(const Parameters& parameters, cv::Point2d centre_px, double k2)
    : parameters_(parameters),
      centre_px_(centre_px),
      k2_(k2),
      focal_px_(std::exp(parameters[log_focal])),
      camera_from_bench_(
          rotation_matrix({parameters[rotation], parameters[rotation + 1], parameters[rotation + 2]})),
      origin_in_camera_(parameters[translation], parameters[translation + 1], parameters[translation + 2]) {
    const cv::Vec3d c = -(camera_from_bench_.t() * origin_in_camera_);
    camera_in_bench_ = {c[0], c[1], -c[2]};
}

cv::Point2d View::picture_from_bench(cv::Point2d bench_mm, double height_mm) const {
    const cv::Vec3d p =
        camera_from_bench_ * cv::Vec3d(bench_mm.x, bench_mm.y, -height_mm) + origin_in_camera_;
    const double x = p[0] / p[2];
    const double y = p[1] / p[2];
    const double r2 = x * x + y * y;
    const double stretch = 1.0 + r2 * (parameters_[lens_k1] + r2 * k2_);
    return {centre_px_.x + focal_px_ * x * stretch, centre_px_.y + focal_px_ * y * stretch};
}

std::optional<cv::Point2d> View::bench_from_picture(cv::Point2d picture_px, double height_mm) const {
    const double xd = (picture_px.x - centre_px_.x) / focal_px_;
    const double yd = (picture_px.y - centre_px_.y) / focal_px_;
    // Newton's method on the radius: r (1 + k1 r^2 + k2 r^4) = rd.
    const double rd = std::hypot(xd, yd);
    const double k1 = parameters_[lens_k1];
    double r = rd;
    for (int i = 0; i < 8; ++i) {
        const double r2 = r * r;
        const double slope = 1.0 + r2 * (3.0 * k1 + 5.0 * k2_ * r2);
        if (slope < 0.1) return std::nullopt;
        const double step = (r * (1.0 + r2 * (k1 + k2_ * r2)) - rd) / slope;
        r -= step;
        if (std::abs(step) < 1e-13) break;
    }
    const double scale = rd > 0 ? r / rd : 1.0;
    const cv::Vec3d ray_in_bench = camera_from_bench_.t() * cv::Vec3d(xd * scale, yd * scale, 1.0);
    // Heights count against the bench frame's z, so a ray towards the bench has a positive z.
    if (ray_in_bench[2] < 1e-6) return std::nullopt;
    const double along = (camera_in_bench_.z - height_mm) / ray_in_bench[2];
    return cv::Point2d(camera_in_bench_.x + along * ray_in_bench[0],
                       camera_in_bench_.y + along * ray_in_bench[1]);
}

double View::tilt() const {
    return std::acos(std::min(1.0, std::abs(camera_from_bench_(2, 2))));
}

double View::distance_mm(cv::Point2d bench_mm) const {
    return std::hypot(bench_mm.x - camera_in_bench_.x, bench_mm.y - camera_in_bench_.y, camera_in_bench_.z);
}

double View::mm_per_px(cv::Point2d bench_mm, double height_mm) const {
    constexpr double step_mm = 0.5;
    const cv::Point2d o = picture_from_bench(bench_mm, height_mm);
    const cv::Point2d a = picture_from_bench(bench_mm + cv::Point2d(step_mm, 0), height_mm) - o;
    const cv::Point2d b = picture_from_bench(bench_mm + cv::Point2d(0, step_mm), height_mm) - o;
    return step_mm / std::sqrt(std::abs(a.cross(b)));
}

View::Gradient::Gradient(const View& view) : view_(view) {
    const cv::Matx33d& r = view.camera_from_bench_;
    const auto& p = view.parameters_;
    const cv::Vec3d v(p[rotation], p[rotation + 1], p[rotation + 2]);
    const double square = v.dot(v);
    for (int i = 0; i < 3; ++i) {
        cv::Vec3d axis;
        axis[i] = 1;
        auto& by = by_rotation_[static_cast<std::size_t>(i)];
        constexpr double nearly_none = 1e-18;
        if (square < nearly_none)
            by = cross_with(axis);
        else
            by = (v[i] * cross_with(v) + cross_with(v.cross((cv::Matx33d::eye() - r) * axis))) * r *
                 (1 / square);
    }
}

View::Parameters View::Gradient::of(cv::Point2d bench_mm, cv::Point2d across) const {
    const cv::Vec3d at(bench_mm.x, bench_mm.y, 0);
    const cv::Vec3d p = view_.camera_from_bench_ * at + view_.origin_in_camera_;
    const double x = p[0] / p[2], y = p[1] / p[2], r2 = x * x + y * y;
    const double k1 = view_.parameters_[lens_k1], k2 = view_.k2_;
    const double stretch = 1 + r2 * (k1 + r2 * k2), steepness = 2 * (k1 + 2 * r2 * k2);
    // Along `across`: by x and y of the undistorted picture at focal length 1, then by the point before the
    // camera.
    const double radial = across.x * x + across.y * y, f = view_.focal_px_;
    const double by_x = f * (across.x * stretch + radial * steepness * x),
                 by_y = f * (across.y * stretch + radial * steepness * y);
    const cv::Vec3d by_point(by_x / p[2], by_y / p[2], -(by_x * x + by_y * y) / p[2]);
    Parameters gradient;
    gradient[log_focal] = f * radial * stretch;
    gradient[lens_k1] = f * radial * r2;
    for (int i = 0; i < 3; ++i) {
        gradient[rotation + i] = by_point.dot(by_rotation_[static_cast<std::size_t>(i)] * at);
        gradient[translation + i] = by_point[i];
    }
    return gradient;
}

}  // namespace frayhold::gauge
