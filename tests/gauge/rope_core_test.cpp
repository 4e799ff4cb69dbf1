// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_core.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

namespace frayhold::gauge {
namespace {

constexpr double radius_mm = 5.0, mm_per_px = 0.1, camera_height_mm = 400.0;
constexpr int rows = 400, columns = 401;

// Looks straight down from (0, 0), the picture's y down along the bench's y.
ViewFit straight_down() {
    View::Parameters parameters;
    parameters[View::log_focal] = std::log(3000.0);
    parameters[View::translation + 2] = camera_height_mm;
    // The picture's axes are the bench's; heights are counted towards the camera.
    ViewFit fit{View(parameters, {2000, 1500}, 0.0), {}};
    fit.white = 0.5;
    return fit;
}

// Where the edge of sight of a rope on the bench meets it, from the axis; its own side positive.
double limb_mm(double camera_across_mm) {
    // The tangent from the camera to the circle of that radius about (0, radius).
    const double along = camera_across_mm, up = camera_height_mm - radius_mm;
    const double to_axis = std::hypot(along, up);
    const double angle = std::atan2(up, along) - std::acos(radius_mm / to_axis);
    const double x = radius_mm * std::cos(angle), z = radius_mm + radius_mm * std::sin(angle);
    return along + (x - along) * camera_height_mm / (camera_height_mm - z);
}

// A rope along the bench's y, so far to one side of the camera.
RopeLimbs rope_at(double across_mm) {
    RopeLimbs limbs;
    limbs.strip.mm_per_px = mm_per_px;
    limbs.strip.middle = columns / 2;
    limbs.strip.bgr = cv::Mat::zeros(rows, columns, CV_8UC3);
    limbs.strip.seen = cv::Mat::ones(rows, columns, CV_8U);
    limbs.strip.line.spacing_mm = mm_per_px;
    for (int row = 0; row < rows; ++row) {
        limbs.strip.line.at_mm.emplace_back(across_mm, row * mm_per_px - 20.0);
        limbs.strip.line.along.emplace_back(0.0, 1.0);
    }
    // across() is (-y, x) of along: towards smaller x.
    const double camera_across = across_mm;
    for (double row = 5; row < rows; row += 10) {
        limbs.light.row.push_back(row);
        limbs.light.along_mm.push_back(row * mm_per_px);
        limbs.sound.right.push_back(limb_mm(camera_across));
        limbs.sound.left.push_back(-limb_mm(-camera_across));
    }
    limbs.blur_mm = 0.1;
    return limbs;
}

constexpr double length_mm = 12.0;

// Core over 12 mm of the rope, between two places across it as seen on the bench.
CoreSight core_between(const RopeLimbs& limbs, double from_mm, double to_mm) {
    CoreSight sight;
    sight.mm_per_px = mm_per_px;
    sight.seen.verdict = CoreSeen::Verdict::found;
    sight.seen.mask = cv::Mat::zeros(rows, columns, CV_8U);
    const double from = limbs.strip.column_at(from_mm), to = limbs.strip.column_at(to_mm);
    sight.seen.mask(cv::Range(140, 260), cv::Range(static_cast<int>(from), static_cast<int>(to))) = 255;
    auto& outline = sight.seen.outlines.emplace_back();
    for (double column = from; column < to; column += 0.5) outline.emplace_back(column, 139.5);
    for (double row = 139.5; row < 259.5; row += 1) outline.emplace_back(to, row);
    for (double column = to; column > from; column -= 0.5) outline.emplace_back(column, 259.5);
    for (double row = 259.5; row > 139.5; row -= 1) outline.emplace_back(from, row);
    sight.seen.area_mm2 = (to_mm - from_mm) * length_mm;
    sight.seen.length_mm = length_mm;
    sight.seen.area_budget = {{"rim", 1.0}};
    sight.seen.length_budget = {{"rim", 0.1}};
    return sight;
}

Reading core_area(const CoreSight& sight, const RopeLimbs& limbs, double width_u_mm = 0.0) {
    const ViewFit fit = straight_down();
    const Propagation propagation(fit, {0.0}, "none");
    const CoreFindings found =
        measure_core(sight, limbs, fit, propagation, Level::bench, 2 * radius_mm, width_u_mm, false);
    const Reading* area = reading_of(found.readings, Measurand::core_area);
    REQUIRE(area != nullptr);
    return *area;
}

double u_of(const Reading& reading, const std::string& source) {
    const auto line = std::find_if(reading.budget.begin(), reading.budget.end(),
                                   [&](const BudgetLine& b) { return b.source == source; });
    return line == reading.budget.end() ? 0.0 : line->u;
}

const std::string behind = "core behind the rope's edge, out of sight", edges = "where the rope's edges lie",
                  likeness = "likeness of core and bench at the rope's edge";

// The same core from straight above, found by walking down each line of sight to the rope.
double from_above_mm2(double camera_across_mm, double from_mm, double to_mm) {
    struct Met {
        double across, height;
    };
    const auto met = [&](double on_bench) {
        Met nearest{0.0, 0.0};
        double least = 1e9;
        for (double z = 2 * radius_mm; z > 0; z -= 1e-4) {
            const double x = on_bench + (camera_across_mm - on_bench) * z / camera_height_mm;
            const double away = std::max(0.0, std::hypot(x, z - radius_mm) - radius_mm);
            if (away < least) nearest = {x, z}, least = away;
            if (away <= 0) break;
        }
        return nearest;
    };
    double sum = 0.0;
    constexpr int steps = 100;
    Met last = met(from_mm);
    for (int i = 1; i <= steps; ++i) {
        const Met next = met(from_mm + (to_mm - from_mm) * i / steps);
        sum += (next.across - last.across) * length_mm *
               (1 - (next.height + last.height) / 2 / camera_height_mm);
        last = next;
    }
    return sum;
}

TEST_CASE("Of what lies behind the far limb, along core that reaches it, half counts, give or take half") {
    // The camera stands 150 mm towards the strip's right: it looks over the left limb.
    const RopeLimbs limbs = rope_at(150.0);
    const double far = limbs.sound.left[0];
    const Reading reaching = core_area(core_between(limbs, far, far + 4.0), limbs);
    // The edge of sight leaves the circle where it is turned by the line of sight's slope from its widest
    // place.
    const double slope = (150.0 - far) / camera_height_mm;
    const double hidden_mm2 = radius_mm * (1 - 1 / std::hypot(1.0, slope)) * length_mm;
    CHECK(u_of(reaching, behind) == Approx(hidden_mm2 / std::sqrt(12.0)).epsilon(0.02));

    const Reading inside = core_area(core_between(limbs, far + 1.0, far + 5.0), limbs);
    CHECK(u_of(inside, behind) == 0.0);
    CHECK(inside.value == Approx(from_above_mm2(150.0, far + 1.0, far + 5.0)).epsilon(0.01));
    CHECK(reaching.value == Approx(from_above_mm2(150.0, far, far + 4.0) + hidden_mm2 / 2).epsilon(0.01));

    // All of the near side is in sight.
    const double near = limbs.sound.right[0];
    CHECK(u_of(core_area(core_between(limbs, near - 4.0, near), limbs), behind) == 0.0);
}

TEST_CASE("Where the edges lie is in doubt as the width is, and tells most at the far limb") {
    const RopeLimbs limbs = rope_at(150.0);
    const double far = limbs.sound.left[0];
    const CoreSight at_limb = core_between(limbs, far + 0.1, far + 3.1),
                    on_top = core_between(limbs, -1.5, 1.5);
    CHECK(u_of(core_area(at_limb, limbs), edges) == 0.0);
    CHECK(u_of(core_area(at_limb, limbs, 0.2), edges) > 0.3);
    CHECK(u_of(core_area(at_limb, limbs, 0.2), edges) > 2 * u_of(core_area(on_top, limbs, 0.2), edges));
}

TEST_CASE("On a bench of core's colour the area is half-way between the least and the most it may be") {
    const RopeLimbs limbs = rope_at(0.0);
    const CoreSight least = core_between(limbs, -4.0, -1.0), most = core_between(limbs, -4.8, -1.0);
    CoreSight sight = core_between(limbs, -4.5, -1.0);
    sight.seen.least_outlines = least.seen.outlines;
    sight.seen.most_outlines = most.seen.outlines;
    const double low = core_area(least, limbs).value, high = core_area(most, limbs).value;
    const Reading between = core_area(sight, limbs);
    CHECK(between.value == Approx((low + high) / 2).epsilon(0.01));
    CHECK(u_of(between, likeness) == Approx((high - low) / std::sqrt(12.0)).epsilon(0.03));
}

}  // namespace
}  // namespace frayhold::gauge
