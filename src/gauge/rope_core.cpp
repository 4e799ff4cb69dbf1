// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_core.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <utility>

#include "gauge/core_seen.h"
#include "gauge/quantile.h"
#include "gauge/strip_edges.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

// The limbs as the rope farther along tells them: where core shows at a limb, the search for edges may take
// the groove between two bundles for it, and so end inside. Core freed by the sheath is no narrower than the
// rope.
SoundEdges outer_limbs(const SoundEdges& sound) {
    constexpr int reach_stations = 40;  // longer than the longest hole is likely to be
    SoundEdges outer;
    const std::vector<double> left = running_median(sound.left, reach_stations),
                              right = running_median(sound.right, reach_stations);
    for (std::size_t s = 0; s < left.size(); ++s) {
        outer.left.push_back(std::min(sound.left[s], left[s]));
        outer.right.push_back(std::max(sound.right[s], right[s]));
    }
    return outer;
}

// The item alone, with a little of the bench, out of the wide strip.
struct NarrowStrip {
    RopeStrip rope;
    int first_column = 0;
};

NarrowStrip narrow_strip(const RopeLimbs& limbs, const SoundEdges& outer, const std::vector<char>& crowded,
                         double mm_per_px, double white, const PaperTint& tint) {
    constexpr double margin_mm = 3.0;
    const Strip& strip = limbs.strip;
    const double left = *std::min_element(outer.left.begin(), outer.left.end()) - margin_mm;
    const double right = *std::max_element(outer.right.begin(), outer.right.end()) + margin_mm;
    const int from = std::clamp(static_cast<int>(std::floor(strip.column_at(left))), 0, strip.bgr.cols - 1);
    const int to =
        std::clamp(static_cast<int>(std::ceil(strip.column_at(right))) + 1, from + 1, strip.bgr.cols);
    NarrowStrip narrow;
    narrow.first_column = from;
    narrow.rope.bgr = tint.taken_from(strip.bgr.colRange(from, to));
    narrow.rope.seen = strip.seen.colRange(from, to);
    narrow.rope.mm_per_px = mm_per_px;
    narrow.rope.blur_mm = limbs.blur_mm;
    narrow.rope.white = white * tint.of_paper();
    const double rows_a_station = limbs.light.rows_a_station();
    for (int r = 0; r < strip.bgr.rows; ++r) {
        const auto s = static_cast<std::size_t>(std::clamp(std::floor(r / rows_a_station), 0.0,
                                                           static_cast<double>(limbs.sound.left.size() - 1)));
        constexpr double none = std::numeric_limits<double>::quiet_NaN();
        narrow.rope.left.push_back(crowded[s] ? none : strip.column_at(limbs.sound.left[s]) - from);
        narrow.rope.right.push_back(crowded[s] ? none : strip.column_at(limbs.sound.right[s]) - from);
        narrow.rope.outer_left.push_back(strip.column_at(outer.left[s]) - from);
        narrow.rope.outer_right.push_back(strip.column_at(outer.right[s]) - from);
    }
    return narrow;
}

// Where lines of sight meet the rope, seen from straight above: columns across its axis, rows along it, in
// millimetres. In the plane across the axis the rope is a circle between two edges of sight (see
// round_item.h); core lies a little within it. An outline beyond the limb is taken to the limb.
class PlanView {
  public:
    PlanView(const RopeLimbs& limbs, SoundEdges outer, const View& view, Level level, double core_radius_mm)
        : limbs_(limbs),
          outer_(std::move(outer)),
          camera_(view.camera_in_bench()),
          level_(level),
          core_radius_mm_(core_radius_mm) {}

    [[nodiscard]] cv::Point2d operator()(double row, double across_mm) const {
        const std::size_t station = station_of(row);
        const double left = outer_.left[station], right = outer_.right[station], base = right - left;
        // An outline may run half a pixel out over the strip's end.
        const auto line_row = static_cast<std::size_t>(
            std::clamp(std::lround(row), 0L, static_cast<long>(limbs_.strip.line.size()) - 1));
        const cv::Point2d axis_mm = limbs_.strip.bench_mm(row, 0),
                          across = limbs_.strip.line.across(line_row);
        const cv::Point2d to_camera = cv::Point2d(camera_.x, camera_.y) - axis_mm;
        const double camera_across = to_camera.dot(across),
                     camera_along = to_camera.dot(limbs_.strip.line.along[line_row]);
        const double height = camera_.z;
        const double left_side = std::hypot(camera_across - left, height),
                     right_side = std::hypot(camera_across - right, height);
        const bool lies = level_ == Level::bench;
        const double centre =
            left + (lies ? (base + left_side - right_side) / 2 : base * left_side / (left_side + right_side));
        const double centre_height = lies ? height * base / (base + left_side + right_side) : 0.0;
        // (q0 + s z)^2 + (z - centre_height)^2 = r^2, the root nearer to the camera.
        const double q0 = across_mm - centre, s = (camera_across - across_mm) / height;
        const double a = 1 + s * s, b = q0 * s - centre_height;
        const double c = q0 * q0 + centre_height * centre_height - core_radius_mm_ * core_radius_mm_;
        const double z = (-b + std::sqrt(std::max(0.0, b * b - a * c))) / a;
        return {q0 + s * z, row * limbs_.strip.mm_per_px + camera_along * z / height};
    }

    // How much of the rope, as seen from straight above, lies behind the limb on that side (-1 left, +1
    // right): where the camera looks over it, the line of sight leaves the circle before its widest place.
    [[nodiscard]] double behind_limb_mm(int row, double side) const {
        const cv::Point2d axis_mm = limbs_.strip.bench_mm(row, 0);
        const double camera_across = (cv::Point2d(camera_.x, camera_.y) - axis_mm)
                                         .dot(limbs_.strip.line.across(static_cast<std::size_t>(row)));
        const double slope = side * (limb_mm(row, side) - camera_across) / camera_.z;
        return slope > 0 ? core_radius_mm_ * (1 - 1 / std::hypot(1.0, slope)) : 0.0;
    }
    [[nodiscard]] double limb_mm(int row, double side) const {
        const std::size_t station = station_of(row);
        return side < 0 ? outer_.left[station] : outer_.right[station];
    }

  private:
    [[nodiscard]] std::size_t station_of(double row) const {
        const double rows_a_station = limbs_.light.rows_a_station();
        const auto last = static_cast<double>(outer_.left.size() - 1);
        return static_cast<std::size_t>(std::clamp(std::floor(row / rows_a_station), 0.0, last));
    }

    const RopeLimbs& limbs_;
    SoundEdges outer_;
    cv::Point3d camera_;
    Level level_;
    double core_radius_mm_;
};

// The limb on that side (-1 left, +1 right) farther from the axis by so much.
SoundEdges moved_out(SoundEdges edges, double side, double mm) {
    for (double& at : side < 0 ? edges.left : edges.right) at += side * mm;
    return edges;
}

// Linear light of white paper beside the rope. Only the printed card tells it; else the brightest that is
// seen along the rope, or what paper shows in a picture of usual exposure.
double white_of(const RopeLimbs& limbs, const ViewFit& fit) {
    constexpr double ink_share = 1.05;  // paper is the step from ink to paper, and the ink's own light
    if (fit.white > 0) return std::min(1.0, fit.white * ink_share);
    constexpr double usual = 0.6, brightest = 0.998;
    std::vector<float> light;
    for (int r = 0; r < limbs.light.mean.rows; ++r)
        for (int c = 0; c < limbs.light.mean.cols; ++c)
            if (limbs.light.seen.at<float>(r, c) > 0)
                light.push_back(limbs.light.mean.at<cv::Vec3f>(r, c)[1]);
    if (light.empty()) return usual;
    return std::clamp(static_cast<double>(quantile(light, brightest)), usual, 1.0);
}

// Of places along the rope.
struct Along {
    double first = std::numeric_limits<double>::infinity(), last = -first;
    void take_in(double mm) {
        first = std::min(first, mm);
        last = std::max(last, mm);
    }
    [[nodiscard]] double length() const { return std::max(0.0, last - first); }
};

// The station at a row of the strip.
std::size_t station_at(int strip_row, const RopeLimbs& limbs) {
    const auto& row = limbs.light.row;
    const auto next = std::lower_bound(row.begin(), row.end(), static_cast<double>(strip_row));
    return static_cast<std::size_t>(std::min<std::ptrdiff_t>(next - row.begin(), std::ssize(row) - 1));
}

double ring_area(const std::vector<cv::Point2d>& points) {
    double twice = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i) twice += points[i].cross(points[(i + 1) % points.size()]);
    return std::abs(twice) / 2;
}

// Area, and length along the rope, of outlines together.
struct PlanExtent {
    double area = 0.0, length = 0.0;
};

using Outlines = std::vector<std::vector<cv::Point2d>>;

// Of outlines, each point placed in millimetres by `placed`, along the rope in y.
template <class Placed>
PlanExtent extent_of(const Outlines& outlines, const Placed& placed) {
    PlanExtent extent;
    Along along;
    for (const auto& outline : outlines) {
        std::vector<cv::Point2d> ring;
        for (const cv::Point2d p : outline) {
            ring.push_back(placed(p));
            along.take_in(ring.back().y);
        }
        extent.area += ring_area(ring);
    }
    extent.length = along.length();
    return extent;
}

// Area, as seen from straight above, of what lies behind the limb along core that reaches it there.
double behind_limb_mm2(const CoreSight& sight, const RopeLimbs& limbs, const PlanView& plan) {
    constexpr double at_limb_mm = 0.5;
    const cv::Mat& mask = sight.seen.mask;
    double sum = 0.0;
    for (int row = 0; row < mask.rows; ++row) {
        const auto* core = mask.ptr<uchar>(row);
        const auto reaches = [&](double side) {
            const double limb = limbs.strip.column_at(plan.limb_mm(row, side)) - sight.first_column;
            const double inward = side * at_limb_mm / limbs.strip.mm_per_px;
            const int from = std::clamp(static_cast<int>(std::min(limb, limb - inward)), 0, mask.cols),
                      to = std::clamp(static_cast<int>(std::max(limb, limb - inward)) + 1, from, mask.cols);
            return std::any_of(core + from, core + to, [](uchar seen) { return seen != 0; });
        };
        for (const double side : {-1.0, 1.0})
            if (const double behind = plan.behind_limb_mm(row, side); behind > 0 && reaches(side))
                sum += behind * sight.mm_per_px;
    }
    return sum;
}

// Of core over the reference plane: between the axis (radius) and the top (twice that) on the bench.
double core_height_mm(Level level, double radius_mm) {
    return (level == Level::bench ? 1.5 : 0.5) * radius_mm;
}

}  // namespace

CoreSight look_for_core(const RopeLimbs& limbs, const std::vector<char>& crowded, const ViewFit& fit,
                        const PaperTint& tint, Level level, double rope_width_mm) {
    const double height = core_height_mm(level, rope_width_mm / 2);
    const NarrowStrip narrow = narrow_strip(
        limbs, outer_limbs(limbs.sound), crowded,
        limbs.strip.mm_per_px * (1 - height / fit.view.camera_in_bench().z), white_of(limbs, fit), tint);
    return {find_core(narrow.rope), narrow.rope.mm_per_px, narrow.first_column};
}

CoreFindings measure_core(const CoreSight& sight, const RopeLimbs& limbs, const ViewFit& fit,
                          const Propagation& propagation, Level level, double rope_width_mm,
                          double rope_width_u_mm, bool fluffed) {
    const double radius = rope_width_mm / 2;
    const double height = core_height_mm(level, radius);
    // Freed core bulges as far out as the sheath; it may lie deeper by the sheath's thickness, or stand
    // proud.
    constexpr double sheath_mm = 1.0, proud_mm = 0.3;
    const SoundEdges outer = outer_limbs(limbs.sound);
    const CoreSeen& core = sight.seen;

    CoreFindings out;
    if (!core.remark.empty() && core.verdict == CoreSeen::Verdict::cannot_tell)
        out.remarks.push_back(core.remark_rows ? with_place(core.remark, limbs.light,
                                                            station_at(core.remark_rows->first, limbs),
                                                            station_at(core.remark_rows->second, limbs))
                                               : core.remark);
    if (core.verdict != CoreSeen::Verdict::found) return out;
    if (fluffed && core.grey_sheath) {
        out.remarks.emplace_back(tr_later(
            "cannot tell core by colour, the loose fibres of a grey sheath are as pale as core: look and "
            "feel"));
        return out;
    }
    if (fit.white <= 0)
        out.remarks.emplace_back(tr_later(
            "no printed card shows how bright white is here: core is told by colour with less trust"));

    const auto picture_px = [&](cv::Point2d in_narrow) {
        return fit.view.picture_from_bench(
            limbs.strip.bench_mm(in_narrow.y, limbs.strip.across_mm(in_narrow.x + sight.first_column)));
    };
    std::vector<std::vector<cv::Point2d>> rings_px;
    std::vector<cv::Point2d> largest;
    double first_row = 1e9, last_row = 0.0;
    for (const auto& outline : core.outlines) {
        std::vector<cv::Point2d> ring;
        for (const cv::Point2d p : outline) {
            ring.push_back(picture_px(p));
            first_row = std::min(first_row, p.y);
            last_row = std::max(last_row, p.y);
        }
        if (ring.size() > largest.size()) largest = ring;
        rings_px.push_back(std::move(ring));
    }
    const auto rings_area = [&](const View& view) {
        double sum = 0.0;
        for (const auto& ring : rings_px) {
            std::vector<cv::Point2d> plane;
            for (const cv::Point2d p : ring)
                plane.push_back(view.bench_from_picture(p, height).value_or(cv::Point2d()));
            sum += ring_area(plane);
        }
        return sum;
    };
    const cv::Point2d from_px = fit.view.picture_from_bench(limbs.strip.bench_mm(first_row, 0)),
                      to_px = fit.view.picture_from_bench(limbs.strip.bench_mm(last_row, 0));
    const auto span = [&](const View& view) {
        return cv::norm(view.bench_from_picture(from_px, height).value_or(cv::Point2d()) -
                        view.bench_from_picture(to_px, height).value_or(cv::Point2d()));
    };
    // The mask counts pixels; the rings carry how the slope of the rope's side changes their number, and how
    // it grows and shrinks with the view.
    // The same for the length: its two ends may stand at different heights, which a slanting line of sight
    // shifts along the rope.
    const auto seen_from_above = [&](const Outlines& outlines, double core_radius_mm,
                                     const SoundEdges& edges) {
        const PlanView plan(limbs, edges, fit.view, level, core_radius_mm);
        return extent_of(outlines, [&](cv::Point2d p) {
            return plan(p.y, limbs.strip.across_mm(p.x + sight.first_column));
        });
    };
    const PlanExtent on_plane = extent_of(core.outlines, [&](cv::Point2d p) { return p * sight.mm_per_px; });
    const PlanExtent deep = seen_from_above(core.outlines, radius - sheath_mm, outer),
                     flush = seen_from_above(core.outlines, radius, outer),
                     proud = seen_from_above(core.outlines, radius + proud_mm, outer);
    // On a bench as pale as core it ends somewhere between the two.
    const PlanExtent least = core.least_outlines.empty()
                                 ? flush
                                 : seen_from_above(core.least_outlines, radius, outer),
                     most = core.most_outlines.empty() ? flush
                                                       : seen_from_above(core.most_outlines, radius, outer);
    // Each limb by itself as misplaced as the rope's width, of two of them, is uncertain.
    const double limb_u = rope_width_u_mm / std::sqrt(2.0);
    PlanExtent by_limbs;
    for (const double side : {-1.0, 1.0}) {
        const PlanExtent wide = seen_from_above(core.outlines, radius + limb_u / 2,
                                                moved_out(outer, side, limb_u)),
                         slim = seen_from_above(core.outlines, radius - limb_u / 2,
                                                moved_out(outer, side, -limb_u));
        by_limbs.area = std::hypot(by_limbs.area, (wide.area - slim.area) / 2);
        by_limbs.length = std::hypot(by_limbs.length, (wide.length - slim.length) / 2);
    }
    const auto range = [](double a, double b, double c) { return std::max({a, b, c}) - std::min({a, b, c}); };
    const double area_range = range(deep.area, flush.area, proud.area),
                 length_range = range(deep.length, flush.length, proud.length);
    // Core that reaches the limb on the far side may end there or go on behind it: anything from nothing to
    // all of what lies there counts.
    const double behind_mm2 = behind_limb_mm2(sight, limbs, PlanView(limbs, outer, fit.view, level, radius));
    // The outlines hold every other point of the rim alone, the area and the length all that was found of it.
    const double area_scale = core.area_mm2 / std::max(on_plane.area, 1e-9),
                 length_scale = core.length_mm / std::max(on_plane.length, 1e-9);
    const double area_mm2 = area_scale * (least.area + most.area) / 2 + behind_mm2 / 2,
                 length_mm = length_scale * (least.length + most.length) / 2;
    const double rings_now = std::max(rings_area(fit.view), 1e-9), span_now = std::max(span(fit.view), 1e-9);
    auto area_lines = core.area_budget, length_lines = core.length_budget;
    // What the outline is in doubt by is seen as much larger or smaller from above as the core itself.
    for (BudgetLine& line : area_lines) line.u *= area_scale * flush.area / std::max(core.area_mm2, 1e-9);
    for (BudgetLine& line : length_lines)
        line.u *= length_scale * flush.length / std::max(core.length_mm, 1e-9);
    area_lines.push_back(
        {tr_later("depth of the core in the rope"), area_scale * area_range / 2 / std::sqrt(3.0)});
    area_lines.push_back({tr_later("where the rope's edges lie"), area_scale * by_limbs.area});
    area_lines.push_back(
        {tr_later("core behind the rope's edge, out of sight"), behind_mm2 / std::sqrt(12.0)});
    area_lines.push_back({tr_later("likeness of core and bench at the rope's edge"),
                          area_scale * std::abs(most.area - least.area) / std::sqrt(12.0)});
    length_lines.push_back(
        {tr_later("depth of the core in the rope"), length_scale * length_range / 2 / std::sqrt(3.0)});
    length_lines.push_back({tr_later("where the rope's edges lie"), length_scale * by_limbs.length});
    length_lines.push_back({tr_later("likeness of core and bench at the rope's edge"),
                            length_scale * std::abs(most.length - least.length) / std::sqrt(12.0)});
    out.readings.push_back(propagation.reading(
        Measurand::core_area, [&](const View& view) { return area_mm2 * rings_area(view) / rings_now; },
        std::move(area_lines), largest));
    out.readings.push_back(propagation.reading(
        Measurand::core_length, [&](const View& view) { return length_mm * span(view) / span_now; },
        std::move(length_lines), {from_px, to_px}));
    return out;
}

}  // namespace frayhold::gauge
