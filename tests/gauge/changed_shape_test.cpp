// SPDX-License-Identifier: Apache-2.0
#include "gauge/changed_shape.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace frayhold::gauge {
namespace {

constexpr double sound_mm = 11.0, height_mm = 400.0;

// Where the edges of sight of an ellipse that rests on the bench at x = 0 meet it: the tangents from the
// camera, found by turning its outline.
struct Edges {
    double left, right;
};
Edges sighted(double width_mm, double thickness_mm, double camera_x_mm) {
    Edges edges{1e9, -1e9};
    constexpr int steps = 200'000;
    for (int i = 0; i < steps; ++i) {
        const double angle = 2 * 3.14159265358979323846 * i / steps;
        const double x = width_mm / 2 * std::cos(angle), z = thickness_mm / 2 * (1 + std::sin(angle));
        const double on_bench = camera_x_mm + (x - camera_x_mm) * height_mm / (height_mm - z);
        edges.left = std::min(edges.left, on_bench);
        edges.right = std::max(edges.right, on_bench);
    }
    return edges;
}

// off_mm: how far the stretch is said to stand right of where it does.
SightedStretch stretch(double width_mm, double thickness_mm, double camera_x_mm, double off_mm = 0.0) {
    const Edges sound = sighted(sound_mm, sound_mm, camera_x_mm),
                changed = sighted(width_mm, thickness_mm, camera_x_mm);
    const EdgesMoved moved{sound.left - changed.left - off_mm, changed.right - sound.right + off_mm};
    return {{changed.left, 0.0},
            {changed.right, 0.0},
            {camera_x_mm, 0.0, height_mm},
            Level::bench,
            sound_mm,
            {moved, moved, moved},
            0.02};
}

double width_read(const SightedStretch& s, const ChangedShape& shape) {
    return width_of_aspect_mm(s.left_mm, s.right_mm, s.camera, s.level, shape.aspect);
}

}  // namespace

TEST_CASE(
    "Under a slanting line of sight a flattened stretch is told from a swollen one by where it stands") {
    for (const double camera_x_mm : {-300.0, 300.0}) {
        const auto flat = stretch(13.2, 8.9, camera_x_mm), swollen = stretch(13.2, 13.2, camera_x_mm);
        const auto as_flat = changed_shape(flat), as_swollen = changed_shape(swollen);
        CHECK(as_flat.aspect > 1.3);
        CHECK(as_swollen.aspect < 1.2);
        CHECK(std::abs(width_read(flat, as_flat) - 13.2) < 2 * as_flat.width_u_mm);
        CHECK(std::abs(width_read(swollen, as_swollen) - 13.2) < 2 * as_swollen.width_u_mm);
        // What its height accounts for is not held against its edges.
        CHECK_FALSE(one_sided(as_flat.moved, 2.2));
        CHECK(unequal_mm(as_flat.moved) < 0.4);
        CHECK(unequal_mm(flat.moved) > 0.7);
    }
}

TEST_CASE("Straight from above the width does not depend on what the height is") {
    const auto seen = stretch(13.2, 8.9, 0.0);
    const auto shape = changed_shape(seen);
    CHECK(width_read(seen, shape) == Approx(13.2).margin(0.05));
    CHECK(shape.width_u_mm < 0.03);
}

TEST_CASE("Where no shape fits the course of the rope beside it any is as likely") {
    const auto seen = stretch(13.2, 8.9, 300.0, 4.0);
    const auto shape = changed_shape(seen);
    CHECK(shape.width_u_mm > 0.3);
    CHECK(std::abs(width_read(seen, shape) - 13.2) < 2 * shape.width_u_mm);
}

TEST_CASE("A narrower stretch is taken for round") {
    const auto seen = stretch(9.5, 9.5, 250.0);
    const auto shape = changed_shape(seen);
    CHECK(shape.aspect == 1.0);
    CHECK(width_read(seen, shape) == Approx(9.5).margin(0.01));
}

}  // namespace frayhold::gauge
