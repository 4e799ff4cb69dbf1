// SPDX-License-Identifier: Apache-2.0
#include "render/camera_view.h"

#include <cmath>

namespace frayhold::render {

View look_at_bench(int width_px, int height_px, double focal_35mm, double distance_mm, double tilt,
                   double azimuth, double roll) {
    View view;
    view.width_px = width_px;
    view.height_px = height_px;
    view.focal_35mm = focal_35mm;
    view.focal_px = focal_35mm * std::hypot(width_px, height_px) / std::hypot(36.0, 24.0);
    view.position = distance_mm * Vec3{std::sin(tilt) * std::cos(azimuth), std::sin(tilt) * std::sin(azimuth),
                                       std::cos(tilt)};
    view.forward = (-1.0 / distance_mm) * view.position;
    const Vec3 level{-std::sin(azimuth), std::cos(azimuth), 0.0};
    const Vec3 other = cross(view.forward, level);
    view.right = std::cos(roll) * level + std::sin(roll) * other;
    view.down = cross(view.forward, view.right);
    return view;
}

Projection::Projection(const View& view)
    : view_(view), cx_((view.width_px - 1) / 2.0), cy_((view.height_px - 1) / 2.0) {
    constexpr int steps = 4096;
    const double corner = std::hypot(view.width_px, view.height_px) / 2.0 / view.focal_px;
    const double most = 1.1 * corner * corner;
    scale_ = steps / most;
    table_.reserve(steps + 1);
    for (int i = 0; i <= steps; ++i) {
        const double rd = std::sqrt(i / scale_);
        double ru = rd;
        for (int n = 0; n < 12; ++n) {
            const double r2 = ru * ru;
            const double value = ru * (1 + view.k1 * r2 + view.k2 * r2 * r2) - rd;
            ru -= value / (1 + 3 * view.k1 * r2 + 5 * view.k2 * r2 * r2);
        }
        table_.push_back(rd > 0.0 ? ru / rd : 1.0);
    }
}

Vec2 Projection::pixel_of(Vec3 point) const {
    const Vec3 d = point - view_.position;
    const double depth = dot(d, view_.forward);
    const double x = dot(d, view_.right) / depth;
    const double y = dot(d, view_.down) / depth;
    const double r2 = x * x + y * y;
    const double k = 1 + view_.k1 * r2 + view_.k2 * r2 * r2;
    return {cx_ + view_.focal_px * x * k, cy_ + view_.focal_px * y * k};
}

}  // namespace frayhold::render
