// SPDX-License-Identifier: Apache-2.0
#include "render/centre_line.h"

#include <cmath>
#include <limits>

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
        if (given.curvature == 0.0) {
            piece.end = start + given.length_mm * direction;
            piece.end_direction = direction;
        } else {
            const double turn = given.length_mm * given.curvature;
            piece.radius = 1.0 / std::abs(given.curvature);
            piece.middle = start + (1.0 / given.curvature) * left_of(direction);
            piece.half_angle = std::abs(turn) / 2;
            piece.cos_half = std::cos(piece.half_angle);
            piece.mid_ray = turned((1.0 / piece.radius) * (start - piece.middle), turn / 2);
            piece.end = piece.middle + turned(start - piece.middle, turn);
            piece.end_direction = turned(direction, turn);
        }
        pieces_.push_back(piece);
        length_ += given.length_mm;
        start = piece.end;
        direction = piece.end_direction;
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
    return piece.curvature == 0.0 ? piece.direction
                                  : turned(piece.direction, (s - piece.from) * piece.curvature);
}

CentreLine::Foot CentreLine::foot_on(const Piece& piece, Vec2 p) {
    Foot foot;
    bool past_end = false;
    if (piece.curvature == 0.0) {
        const Vec2 d = p - piece.start;
        const double along = dot(d, piece.direction);
        if (along >= 0.0 && along <= piece.length) {
            foot.s = piece.from + along;
            foot.q = cross(piece.direction, d);
            foot.tangent = piece.direction;
            return foot;
        }
        past_end = along > 0.0;
    } else {
        const Vec2 ray = p - piece.middle;
        const double r = length(ray);
        const double sign = piece.curvature > 0.0 ? 1.0 : -1.0;
        const double ahead = sign * cross(piece.mid_ray, ray);  // r sin of the angle from the half-way point
        const double facing = dot(piece.mid_ray, ray);
        if (facing >= piece.cos_half * r) {
            foot.s = piece.from + piece.radius * (piece.half_angle + std::atan2(ahead, facing));
            foot.q = sign * (piece.radius - r);
            foot.tangent = r > 0.0 ? (sign / r) * left_of(ray) : piece.direction;
            return foot;
        }
        past_end = ahead > 0.0;
    }
    const Vec2 d = p - (past_end ? piece.end : piece.start);
    foot.tangent = past_end ? piece.end_direction : piece.direction;
    foot.s = piece.from + (past_end ? piece.length : 0.0);
    foot.q = cross(foot.tangent, d);
    foot.beyond = std::abs(dot(foot.tangent, d));
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

CentreLine CentreLine::part_near(Vec2 middle, double radius) const {
    const auto distance_to = [middle](const Piece& piece) {
        const Foot foot = foot_on(piece, middle);
        return norm(foot.q, foot.beyond);
    };
    double least = std::numeric_limits<double>::infinity();
    for (const Piece& piece : pieces_) least = std::min(least, distance_to(piece));
    // A point moves its distance to any piece by no more than it is moved itself.
    CentreLine part;
    part.length_ = length_;
    for (const Piece& piece : pieces_)
        if (distance_to(piece) <= least + 2.0 * radius) part.pieces_.push_back(piece);
    return part;
}

}  // namespace frayhold::render
