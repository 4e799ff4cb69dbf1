// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <array>
#include <opencv2/core/mat.hpp>

#include "render/scene.h"

namespace frayhold::render {

// Corners on the bench from the thing's own top left, clockwise as seen from above (the sharp corners of the
// outline's sides, also where the thing's own corners are rounded).
[[nodiscard]] std::array<Vec3, 4> corners_of(const Flat& flat);
// From the bench to the thing's own frame: mm from its top left corner, x right, y down.
[[nodiscard]] Vec2 on_flat(const Flat& flat, Vec2 bench_point);

// The print of a flat thing, as a raster of reflectance in linear light.
class FlatPicture {
  public:
    explicit FlatPicture(const Flat& flat);

    // As on_flat, with the heading worked out once.
    [[nodiscard]] Vec2 own_frame(Vec2 bench_point) const {
        const Vec2 d = bench_point - flat_.middle;
        return {dot(d, axis_) + flat_.width_mm / 2, cross(d, axis_) + flat_.height_mm / 2};
    }
    [[nodiscard]] bool covers(Vec2 own) const {
        const double x = std::min(own.x, flat_.width_mm - own.x);
        const double y = std::min(own.y, flat_.height_mm - own.y);
        if (x < 0.0 || y < 0.0) return false;
        const double r = flat_.corner_radius_mm;
        return x >= r || y >= r || (r - x) * (r - x) + (r - y) * (r - y) <= r * r;
    }
    [[nodiscard]] Colour at(Vec2 own) const;

  private:
    Flat flat_;
    Vec2 axis_;
    double per_mm_ = 12.0;
    cv::Mat raster_;  // CV_32FC3, red green blue
};

}  // namespace frayhold::render
