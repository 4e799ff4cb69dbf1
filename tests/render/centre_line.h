// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "render/vec.h"

namespace frayhold::render {

// One straight or circular piece of a centre line in plan view; curvature in 1/mm, positive to the left; less
// than a full circle.
struct LinePiece {
    double length_mm = 0.0;
    double curvature = 0.0;
};

// A smooth plan curve of straight and circular pieces, by arc length from its start (mm).
class CentreLine {
  public:
    CentreLine() = default;
    CentreLine(Vec2 start, double heading_rad, const std::vector<LinePiece>& pieces);

    struct Foot {
        double s = 0.0;       // arc length of the nearest point, 0 .. length
        double q = 0.0;       // signed distance, positive to the left
        Vec2 tangent;         // at the nearest point
        double beyond = 0.0;  // how far the point lies past an end, along the tangent; 0 between the ends
    };

    [[nodiscard]] double length_mm() const { return length_; }
    [[nodiscard]] Vec2 at(double s) const;
    [[nodiscard]] Vec2 tangent(double s) const;
    [[nodiscard]] Foot foot(Vec2 p) const;
    // The pieces that hold the feet of all points within `radius` of `middle`; arc lengths stay those of the
    // whole.
    [[nodiscard]] CentreLine part_near(Vec2 middle, double radius) const;

  private:
    struct Piece {
        Vec2 start, direction, end, end_direction;
        Vec2 middle, mid_ray;  // of an arc: its centre, and the unit ray to its half-way point
        double from = 0.0, length = 0.0, curvature = 0.0, radius = 0.0;
        double half_angle = 0.0, cos_half = 0.0;
    };
    [[nodiscard]] const Piece& piece_at(double s) const;
    [[nodiscard]] static Foot foot_on(const Piece& piece, Vec2 p);

    std::vector<Piece> pieces_;
    double length_ = 0.0;
};

}  // namespace frayhold::render
