// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/scene.h"

namespace frayhold::render {

// A view that looks at the bench's origin from `distance_mm`, tilted from straight down towards `azimuth`,
// the picture turned by `roll` (radians).
[[nodiscard]] View look_at_bench(int width_px, int height_px, double focal_35mm, double distance_mm,
                                 double tilt, double azimuth, double roll);

// Pixels to rays and back. Pixel (0, 0) is the centre of the top left pixel.
class Projection {
  public:
    explicit Projection(const View& view);

    [[nodiscard]] Vec2 pixel_of(Vec3 point) const;
    // Distance along the camera's axis.
    [[nodiscard]] double depth_of(Vec3 point) const { return dot(point - view_.position, view_.forward); }
    // From view.position; its component along the axis is 1, so a ray's parameter is the depth.
    [[nodiscard]] Vec3 ray(double px, double py) const {
        const double xd = (px - cx_) / view_.focal_px;
        const double yd = (py - cy_) / view_.focal_px;
        const double k = factor(xd * xd + yd * yd);
        return view_.forward + (xd * k) * view_.right + (yd * k) * view_.down;
    }
    // Where the pixel's ray meets the plane z = height.
    [[nodiscard]] Vec3 on_plane(double px, double py, double height = 0.0) const {
        const Vec3 d = ray(px, py);
        return view_.position + ((height - view_.position.z) / d.z) * d;
    }
    [[nodiscard]] const View& view() const { return view_; }
    [[nodiscard]] bool in_frame(Vec2 px, double margin_px) const {
        return px.x >= margin_px && px.y >= margin_px && px.x <= view_.width_px - 1 - margin_px &&
               px.y <= view_.height_px - 1 - margin_px;
    }

  private:
    // Undistorted over distorted radius, from a table over the squared distorted radius.
    [[nodiscard]] double factor(double r2) const {
        const double at = r2 * scale_;
        const auto i = static_cast<std::size_t>(at);
        if (i + 1 >= table_.size()) return table_.back();
        return table_[i] + (at - static_cast<double>(i)) * (table_[i + 1] - table_[i]);
    }

    View view_;
    double cx_ = 0.0, cy_ = 0.0;
    double scale_ = 1.0;
    std::vector<double> table_;
};

}  // namespace frayhold::render
