// SPDX-License-Identifier: Apache-2.0
#include "render/centre_line.h"

#include <cmath>
#include <limits>
#include <numbers>

namespace frayhold::render {
namespace {

Vec2 turned(Vec2 v, double angle) {
    const Vec2 h = heading(angle);
    return {v.x * h.x - v.y * h.y, v.x * h.y + v.y * h.x};
}

}  // namespace

CentreLine::CentreLine(Vec2 start, double heading_rad, const std::vector<LinePiece>& pieces) {
    Vec2 direction = heading(heading_rad);
    for (const LinePiece& given : pieces) {
        Piece piece;
        piece.start = start;
        piece.direction = direction;
        piece.from = length_;
        piece.length = given.length_mm;
        piece.curvature = given.curvature;
        if (given.curvature != 0.0) {
            piece.radius = 1.0 / std::abs(given.curvature);
            piece.middle = start + (1.0 / given.curvature) * left_of(direction);
        }
        pieces_.push_back(piece);
        length_ += given.length_mm;
        start = at(length_);
        direction = tangent(length_);
    }
}

const CentreLine::Piece& CentreLine::piece_at(double s) const {
    std::size_t i = 0;
    while (i + 1 < pieces_.size() && s > pieces_[i].from + pieces_[i].length) ++i;
    return pieces_[i];
}

Vec2 CentreLine::at(double s) const {
    const Piece& piece = piece_at(s);
    const double along = s - piece.from;
    if (piece.curvature == 0.0) return piece.start + along * piece.direction;
    return piece.middle + turned(piece.start - piece.middle, along * piece.curvature);
}

Vec2 CentreLine::tangent(double s) const {
    const Piece& piece = piece_at(s);
    return piece.curvature == 0.0 ? piece.direction : turned(piece.direction, (s - piece.from) * piece.curvature);
}

CentreLine::Foot CentreLine::foot_on(const Piece& piece, Vec2 p) {
    Foot foot;
    double along = 0.0;
    if (piece.curvature == 0.0) {
        const Vec2 d = p - piece.start;
        along = dot(d, piece.direction);
        foot.tangent = piece.direction;
        foot.q = cross(piece.direction, d);
    } else {
        const Vec2 from_middle = p - piece.middle;
        const Vec2 start_ray = piece.start - piece.middle;
        const double sign = piece.curvature > 0.0 ? 1.0 : -1.0;
        // Measured from the middle of the arc, so that the far side of the circle goes to the nearer end.
        const double half = 0.5 * piece.length / piece.radius;
        const Vec2 mid_ray = turned(start_ray, sign * half);
        const double angle = std::atan2(cross(mid_ray, from_middle), dot(mid_ray, from_middle)) * sign + half;
        along = angle * piece.radius;
        const double r = length(from_middle);
        foot.q = sign * (piece.radius - r);
        foot.tangent = r > 0.0 ? (sign / r) * left_of(from_middle) : piece.direction;
    }
    if (along < 0.0 || along > piece.length) {
        const double end = along < 0.0 ? 0.0 : piece.length;
        if (piece.curvature == 0.0) {
            foot.beyond = std::abs(along - end);
        } else {
            foot.tangent = turned(piece.direction, end * piece.curvature);
            const Vec2 d = p - (piece.middle + turned(piece.start - piece.middle, end * piece.curvature));
            foot.q = cross(foot.tangent, d);
            foot.beyond = std::abs(dot(foot.tangent, d));
        }
        along = end;
    }
    foot.s = piece.from + along;
    return foot;
}

CentreLine::Foot CentreLine::foot(Vec2 p) const {
    if (pieces_.size() == 1) return foot_on(pieces_.front(), p);
    Foot best;
    double least = std::numeric_limits<double>::infinity();
    for (const Piece& piece : pieces_) {
        const Foot foot = foot_on(piece, p);
        const double d2 = foot.q * foot.q + foot.beyond * foot.beyond;
        if (d2 < least) {
            least = d2;
            best = foot;
        }
    }
    return best;
}

}  // namespace frayhold::render
