// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "gauge/changed_edge.h"
#include "gauge/changed_shape.h"
#include "gauge/fray_doubt.h"
#include "gauge/halo.h"
#include "gauge/quantile.h"
#include "gauge/rope_change.h"
#include "gauge/rope_core.h"
#include "gauge/rope_limbs.h"
#include "gauge/rope_neighbours.h"
#include "gauge/side_by_side.h"
#include "gauge/station_phase.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

// Where two edges of the item stand in the picture, held fixed while the view is varied.
struct PixelPair {
    cv::Point2d left_px;
    cv::Point2d right_px;
};

// Millimetres from pixels, for a given view.
class Ruler {
  public:
    Ruler(const View& view, Level level) : view_(view), level_(level) {}

    // Width of the rope between two edges of sight, round or so many times as wide as high. NaN where the
    // view cannot see the bench there.
    [[nodiscard]] double diameter_mm(const PixelPair& pair, double aspect = 1.0) const {
        const auto left = view_.bench_from_picture(pair.left_px),
                   right = view_.bench_from_picture(pair.right_px);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        return width_of_aspect_mm(*left, *right, view_.camera_in_bench(), level_, aspect);
    }

    // Straight distance between two points that stand at a height over the bench (or over the card, when
    // raised).
    [[nodiscard]] double distance_mm(const PixelPair& pair, double height_mm) const {
        const double h = level_ == Level::bench ? height_mm : 0.0;
        const auto left = view_.bench_from_picture(pair.left_px, h),
                   right = view_.bench_from_picture(pair.right_px, h);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        return cv::norm(*left - *right);
    }

  private:
    const View& view_;
    Level level_;
};

// Runs of true entries, joined over gaps of up to `gap`, at least `least` long.
std::vector<Run> runs_of(const std::vector<char>& flags, std::size_t gap, std::size_t least) {
    std::vector<Run> runs;
    for (std::size_t i = 0; i < flags.size(); ++i) {
        if (!flags[i]) continue;
        if (!runs.empty() && i - runs.back().to <= gap)
            runs.back().to = i + 1;
        else
            runs.push_back({i, i + 1});
    }
    std::erase_if(runs, [&](const Run& r) { return r.to - r.from < least; });
    return runs;
}

class RopeMeasurement {
  public:
    // crowded: the stations at which other lengths lie against the rope (rope_neighbours.h).
    RopeMeasurement(RopeLimbs limbs, std::vector<char> crowded, const ViewFit& fit,
                    const Propagation& propagation, const PaperTint& tint, Level level)
        : limbs_(std::move(limbs)),
          crowded_(std::move(crowded)),
          fit_(fit),
          propagation_(propagation),
          level_(level) {
        const double width_mm = usual_width_mm();
        side_by_side([&] { core_ = look_for_core(limbs_, crowded_, fit_, tint, level_, width_mm); },
                     [&] { halo_ = find_halo(limbs_.strip, limbs_.light, limbs_.sound, limbs_.blur_mm); });
    }

    RopeFindings findings() {
        RopeFindings out;
        for (const Run& run : runs_of(crowded_, 0, 1))
            out.remarks.push_back(with_place(
                tr_later(
                    "other lengths lie against the rope, so that neither core nor fibres nor widths are read "
                    "there; lay the length to be measured by itself; along the rope"),
                run));
        find_fray();
        if (!measure_sound(out)) return out;
        measure_fray(out);
        measure_local(out);
        CoreFindings core = measure_core(core_, limbs_, fit_, propagation_, level_, baseline_mm_,
                                         baseline_u_mm_, !fray_runs_.empty());
        for (Reading& reading : core.readings) out.readings.push_back(std::move(reading));
        for (std::string& remark : core.remarks) out.remarks.push_back(std::move(remark));
        fill_profile(out);
        return out;
    }

  private:
    [[nodiscard]] std::size_t stations() const { return limbs_.sound.left.size(); }
    [[nodiscard]] cv::Point2d picture_px(std::size_t station, double across_mm) const {
        return picture_px_at(limbs_.light.row[station], across_mm);
    }
    [[nodiscard]] cv::Point2d picture_px_at(double row, double across_mm) const {
        return fit_.view.picture_from_bench(limbs_.strip.bench_mm(row, across_mm));
    }
    [[nodiscard]] PixelPair pixels(std::size_t station, double left_mm, double right_mm) const {
        return {picture_px(station, left_mm), picture_px(station, right_mm)};
    }
    [[nodiscard]] double camera_height() const { return fit_.view.camera_in_bench().z; }

    // Before damaged stretches are known: half of the rope is narrower.
    [[nodiscard]] double usual_width_mm() const {
        const Ruler ruler(fit_.view, level_);
        std::vector<double> diameters;
        for (const LimbPair& p : limbs_.pairs)
            if (const double d = ruler.diameter_mm(pixels(p.station, p.left_mm, p.right_mm)); !std::isnan(d))
                diameters.push_back(d);
        return median(std::move(diameters));
    }

    // Stations with fibres beyond both the blur and single surface yarns, as one stretch or several.
    void find_fray() {
        frayed_.assign(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s)
            frayed_[s] = limbs_.sound.left[s] - halo_.left[s] > clear_of_edge_mm ||
                         halo_.right[s] - limbs_.sound.right[s] > clear_of_edge_mm;
        // A stray yarn here and there is no fray: that is a stretch, most of it with fibres, some of them
        // well clear.
        constexpr std::size_t gap = 4, least = 7;
        fray_runs_ = runs_of(frayed_, gap, least);
        std::erase_if(fray_runs_, [&](const Run& run) {
            if (is_crowded(run, 0)) return true;
            std::size_t with_fibres = 0;
            double farthest = 0.0;
            for (std::size_t s = run.from; s < run.to; ++s) {
                with_fibres += frayed_[s];
                farthest = std::max(
                    {farthest, limbs_.sound.left[s] - halo_.left[s], halo_.right[s] - limbs_.sound.right[s]});
            }
            constexpr double well_clear_mm = 1.5;
            return 2 * with_fibres < run.to - run.from || farthest < well_clear_mm || !light_changes(run) ||
                   !ends_apart(run);
        });
        std::vector<char> kept(stations(), 0);
        for (const Run& run : fray_runs_)
            for (std::size_t s = run.from; s < run.to; ++s) kept[s] = frayed_[s];
        frayed_ = std::move(kept);
    }

    // Whether the light beside the rope changes along a run, as loose fibres change it: a joint of the bench
    // that runs out from under the rope, followed as one fibre, does not.
    [[nodiscard]] bool light_changes(const Run& run) const {
        constexpr double plain = 3.0;
        if (!halo_.cover) return true;
        for (const double side : {-1.0, 1.0}) {
            const auto change = change_outside(limbs_.strip, *halo_.cover, limbs_.sound, side, station_mm(),
                                               run.from, run.to);
            if (!change || *change > plain) return true;
        }
        return false;
    }

    // Whether other lengths lie against the rope along a run, or within the margin of it.
    [[nodiscard]] bool is_crowded(const Run& run, std::size_t margin) const {
        const auto from = static_cast<std::ptrdiff_t>(run.from - std::min(run.from, margin)),
                   to = static_cast<std::ptrdiff_t>(std::min(run.to + margin, stations()));
        return std::find(crowded_.begin() + from, crowded_.begin() + to, char{1}) != crowded_.begin() + to;
    }

    // Whether what stands out ends now farther out, now nearer from one station to the next, as fibres do on
    // one side at least: the border of a shadow or of glare, or the item's own edge misplaced, does not.
    [[nodiscard]] bool ends_apart(const Run& run) const {
        constexpr double least_share = 0.12;  // of the mean reach
        const auto apart = [&](const auto& beyond_mm) {
            double steps = 0.0, reach = 0.0;
            for (std::size_t s = run.from; s + 1 < run.to; ++s) {
                const double here = beyond_mm(s), next = beyond_mm(s + 1);
                if (std::min(here, next) <= clear_of_edge_mm) continue;
                steps += std::abs(next - here);
                reach += here;
            }
            return steps > least_share * reach;
        };
        return apart([&](std::size_t s) { return limbs_.sound.left[s] - halo_.left[s]; }) ||
               apart([&](std::size_t s) { return halo_.right[s] - limbs_.sound.right[s]; });
    }

    [[nodiscard]] bool near_fray(std::size_t station, std::size_t margin) const {
        return std::any_of(fray_runs_.begin(), fray_runs_.end(), [&](const Run& r) {
            return station + margin >= r.from && station < r.to + margin;
        });
    }

    // Outline of a few stations spread over a range: down the left side, back up the right.
    [[nodiscard]] std::vector<cv::Point2d> outline(const Run& run, const std::vector<double>& left,
                                                   const std::vector<double>& right) const {
        std::vector<cv::Point2d> points;
        const std::size_t step = std::max<std::size_t>(1, (run.to - run.from) / 60);
        for (std::size_t s = run.from; s < run.to; s += step) points.push_back(picture_px(s, left[s]));
        for (std::size_t s = run.to; s-- > run.from;)
            if ((s - run.from) % step == 0) points.push_back(picture_px(s, right[s]));
        return points;
    }

    bool measure_sound(RopeFindings& out) {
        const Ruler ruler(fit_.view, level_);
        std::vector<PixelPair> pairs;
        std::vector<double> diameters;
        for (const LimbPair& p : limbs_.pairs) {
            if (near_fray(p.station, 5) || crowded_[p.station]) continue;
            const PixelPair pair = pixels(p.station, p.left_mm, p.right_mm);
            const double d = ruler.diameter_mm(pair);
            if (std::isnan(d)) continue;
            pairs.push_back(pair);
            diameters.push_back(d);
        }
        constexpr std::size_t least_pairs = 8;
        // Where the limbs are a guess, or where what lies within them says that they are not the rope's, no
        // width is told.
        constexpr double least_plainness = 0.4, most_within_mm = 0.6;
        if (usual_plainness() < least_plainness || std::abs(limbs_.ends_within_mm) > most_within_mm) {
            out.remarks.emplace_back(tr_later(
                "the rope's edges are not clear enough to measure: lay it on a bench of another colour"));
            return false;
        }
        if (diameters.size() < least_pairs) {
            if (!is_crowded({0, stations()}, 0))
                out.remarks.emplace_back(tr_later(
                    "too little of the rope shows clear edges: lay it on a bench of another colour"));
            return false;
        }
        // Tukey's biweight about the median: flattened and swollen stretches have no say in what is sound.
        const double middle = median(diameters);
        std::vector<double> deviations;
        for (const double d : diameters) deviations.push_back(std::abs(d - middle));
        const double scale = std::max(1.4826 * median(std::move(deviations)), 0.004 * middle);
        std::vector<double> weights;
        double sum = 0.0, square = 0.0, total = 0.0, total2 = 0.0;
        for (const double d : diameters) {
            const double x = (d - middle) / (5 * scale);
            const double w = std::abs(x) < 1 ? (1 - x * x) * (1 - x * x) : 0.0;
            weights.push_back(w);
            sum += w * d;
            square += w * d * d;
            total += w;
            total2 += w * w;
        }
        const double mean = sum / total;
        const double spread = std::sqrt(std::max(0.0, square / total - mean * mean));
        // Windows of nine stations every three: one in three is independent.
        const double independent = std::max(2.0, total * total / total2 / 3.0);

        const auto value = [&, total](const View& view) {
            const Ruler r(view, level_);
            double weighted = 0.0;
            for (std::size_t i = 0; i < pairs.size(); ++i)
                if (weights[i] > 0) weighted += weights[i] * r.diameter_mm(pairs[i]);
            return weighted / total - limbs_.ends_within_mm / 2;
        };
        std::vector<BudgetLine> lines;
        lines.push_back(
            {tr_later("scatter along the rope"), spread / std::sqrt(independent), independent - 1});
        for (BudgetLine& line : edge_lines(usual_plainness())) lines.push_back(std::move(line));
        lines.push_back({tr_later("card and rope not on one plane"), mean * plane_u_mm / camera_height()});
        const Run all{0, stations()};
        Reading reading = propagation_.reading(Measurand::sound_width, value, std::move(lines),
                                               outline(all, limbs_.sound.left, limbs_.sound.right));
        baseline_mm_ = reading.value;
        baseline_u_mm_ = reading.u;
        scatter_mm_ = spread;
        out.readings.push_back(std::move(reading));
        return true;
    }

    // What the limb model may get wrong, on both limbs alike. Limb and contact shadow can make a dark border
    // of up to 0.4 mm that belongs to the item or to the bench: a blur much finer shows which, a coarser one
    // hides it (a rectangle of that half-width). And where item and bench look alike, the place itself is
    // doubtful.
    [[nodiscard]] std::vector<BudgetLine> edge_lines(double plainness) const {
        constexpr double border_mm = 0.4, doubt_mm = 1.0, plain = 0.75;
        const double blur2 = limbs_.blur_mm * limbs_.blur_mm, half2 = border_mm * border_mm / 4;
        return {{tr_later("where the edge of sight lies in its blur"),
                 border_mm * blur2 / (blur2 + half2) / std::sqrt(3.0)},
                {tr_later("likeness of item and bench"), doubt_mm * std::exp(-plainness / plain)},
                // Half-way between the limbs and where looks tell, with a rectangle over both.
                {tr_later("shadow at the foot of the rope"),
                 std::abs(limbs_.ends_within_mm) / 2 / std::sqrt(3.0)}};
    }
    [[nodiscard]] double usual_plainness() const {
        std::vector<double> plainness;
        plainness.reserve(limbs_.pairs.size());
        for (const LimbPair& p : limbs_.pairs) plainness.push_back(p.plainness);
        return median(std::move(plainness));
    }

    // What a pair of outlines amounts to over the frayed stretches, on the bench plane.
    struct Extent {
        std::size_t widest = 0;
        double width = 0.0, next_width = 0.0;  // largest station, and the largest of the others
        double length = 0.0, area = 0.0;  // stations clear of the sound edge, and what they show beyond it
    };
    [[nodiscard]] Extent extent(const std::vector<double>& left, const std::vector<double>& right) const {
        Extent e;
        for (std::size_t s = 0; s < stations(); ++s) {
            if (!near_fray(s, fray_margin)) continue;
            const double width = right[s] - left[s];
            if (width > e.width) {
                e.next_width = e.width;
                e.width = width;
                e.widest = s;
            } else {
                e.next_width = std::max(e.next_width, width);
            }
            const double beyond_left = limbs_.sound.left[s] - left[s],
                         beyond_right = right[s] - limbs_.sound.right[s];
            if (std::max(beyond_left, beyond_right) <= clear_of_edge_mm) continue;
            e.length += station_mm();
            e.area += (beyond_left + beyond_right) * station_mm();
        }
        return e;
    }
    [[nodiscard]] WidestStation width_by_phase(const Extent& usual) const {
        const std::size_t rows_a_station = halo_.row_left.size() / stations();
        std::vector<char> looked_at(halo_.row_left.size());
        for (std::size_t r = 0; r < looked_at.size(); ++r)
            looked_at[r] = near_fray(r / rows_a_station, fray_margin);
        // Rows are laid on the bench, stations lie along the rope's axis.
        const double row = limbs_.light.row[usual.widest];
        const double ten_rows_mm =
            Ruler(fit_.view, level_)
                .distance_mm({picture_px_at(row - 5, 0.0), picture_px_at(row + 5, 0.0)}, axis_height());
        if (std::isnan(ten_rows_mm)) return {usual.width, 0.0};
        return widest_station(halo_.row_left, halo_.row_right, looked_at, std::max(1.0, 10 / ten_rows_mm));
    }
    [[nodiscard]] double station_mm() const { return limbs_.light.station_mm(); }
    // Of the frayed stretches, where fibres stand out by more than that, even if more evidence is asked for.
    [[nodiscard]] double length_beyond(double clear_mm) const {
        double sum = 0.0;
        for (std::size_t s = 0; s < stations(); ++s)
            if (frayed_[s] && std::max(limbs_.sound.left[s] - halo_.strict_left[s],
                                       halo_.strict_right[s] - limbs_.sound.right[s]) > clear_mm)
                sum += station_mm();
        return sum;
    }

    // How far the line of sight runs over the bench for each millimetre of height.
    [[nodiscard]] cv::Point2d slant(std::size_t station, double across_mm) const {
        const cv::Point2d px = picture_px(station, across_mm);
        const auto low = fit_.view.bench_from_picture(px, axis_height()),
                   high = fit_.view.bench_from_picture(px, axis_height() + 1.0);
        return low && high ? *high - *low : cv::Point2d();
    }
    struct Slope {
        double whole, across, along;
    };
    [[nodiscard]] Slope slope_at(std::size_t station) const {
        const cv::Point2d run = slant(station, 0.0);
        return {cv::norm(run), std::abs(run.dot(limbs_.strip.line.across(line_row(station)))),
                std::abs(run.dot(limbs_.strip.line.along[line_row(station)]))};
    }
    [[nodiscard]] std::size_t line_row(std::size_t station) const {
        return static_cast<std::size_t>(std::lround(limbs_.light.row[station]));
    }
    // Of the card's plane: the rope's axis, at which all its readings are taken.
    [[nodiscard]] double axis_height() const { return level_ == Level::bench ? 0.5 * baseline_mm_ : 0.0; }

    // See fray_doubt.h for what a picture cannot show of a fray.
    void measure_fray(RopeFindings& out) {
        if (fray_runs_.empty()) return;
        const std::size_t read_before = out.readings.size();
        const Extent usual = extent(halo_.left, halo_.right),
                     strict = extent(halo_.strict_left, halo_.strict_right),
                     loose = extent(halo_.loose_left, halo_.loose_right);
        const auto span_u = [](double a, double b) { return std::abs(a - b) / std::sqrt(12.0); };
        // Fibres stand out by some 3 mm on average where fewer are seen than are needed to tell.
        constexpr double usual_reach_mm = 3.0;
        const double unseen =
            unseen_falloffs(halo_.unseen_share(std::max(usual_reach_mm, (usual.width - baseline_mm_) / 2)));
        const double falloff_mm = std::max(usual_reach_mm, usual.area / std::max(1.0, usual.length) / 2);
        const double shortfall_mm = unseen * falloff_mm;
        const auto add_width = [&](Measurand measurand, std::size_t s, double left, double right,
                                   double seen_by_true, double correction_mm, std::vector<BudgetLine> lines) {
            const PixelPair pair = pixels(s, left, right);
            out.readings.push_back(propagation_.reading(
                measurand,
                [&, pair](const View& view) {
                    return Ruler(view, level_).distance_mm(pair, axis_height()) / seen_by_true +
                           correction_mm;
                },
                std::move(lines), {pair.left_px, pair.right_px}));
        };
        const std::size_t w = usual.widest;
        const Slope slope = slope_at(w);
        const double beyond_mm = std::max(0.0, usual.width / seen_too_long(slope.across) - baseline_mm_);
        const double height_u = height_u_rel(slope.whole) * beyond_mm;
        const WidestStation by_phase = width_by_phase(usual);
        add_width(Measurand::fray_width, w, halo_.left[w], halo_.right[w], seen_too_long(slope.across),
                  shortfall_made_good * shortfall_mm - farthest_too_far_mm +
                      (by_phase.mean - usual.width) / seen_too_long(slope.across),
                  {{tr_later("height of the fibres"), height_u},
                   {tr_later("fibres too fine to be seen"), width_shortfall_u(unseen) * falloff_mm},
                   {tr_later("where a fibre ends"),
                    std::hypot(span_u(loose.width, strict.width), farthest_end_u_mm)},
                   {tr_later("where the stations begin"), by_phase.deviation}});

        const Extent dense = extent(halo_.dense_left, halo_.dense_right);
        const std::size_t d = dense.widest;
        // Each fibre turns its own way to the lamp: their light is known to a quarter, one standard
        // deviation, which at half cover moves the share by as much as the two thresholds do.
        const double dense_span_u =
            std::abs(extent(halo_.dense_loose_left, halo_.dense_loose_right).width -
                     extent(halo_.dense_strict_left, halo_.dense_strict_right).width) /
            2;
        // Of rendered frays seen from straight above, one standard deviation: as much as two of its cells.
        constexpr double dense_phase_mm = 0.5;
        const Slope dense_slope = slope_at(d);
        const double too_long = seen_too_long(dense_slope.across), half_too_long = (1 + too_long) / 2;
        const double dense_beyond_mm = std::max(0.0, dense.width / half_too_long - baseline_mm_);
        add_width(
            Measurand::fray_dense_width, d, halo_.dense_left[d], halo_.dense_right[d], half_too_long, 0.0,
            {{tr_later("height of the fibres"),
              std::hypot(mass_by_width_u * height_u_rel(dense_slope.whole) * dense_beyond_mm,
                         span_u(dense.width, dense.width / too_long))},
             {tr_later("light of the fibres"), dense_span_u},
             {tr_later("light of the bench"), 2 * (halo_.cover ? halo_.cover->scatter : 0.0) * falloff_mm},
             {tr_later("where the stations begin"),
              std::hypot(dense_phase_mm, span_u(dense.width, dense.next_width))}});

        const Run whole{fray_runs_.front().from, fray_runs_.back().to};
        std::vector<PixelPair> along;
        std::vector<std::array<PixelPair, 2>> sides;
        std::vector<double> sides_too_long;
        for (const Run& run : fray_runs_)
            for (std::size_t s = run.from; s < run.to; ++s) {
                if (!frayed_[s]) continue;
                const double row = limbs_.light.row[s], half = 0.5 * limbs_.light.rows_a_station();
                along.push_back({fit_.view.picture_from_bench(limbs_.strip.bench_mm(row - half, 0)),
                                 fit_.view.picture_from_bench(limbs_.strip.bench_mm(row + half, 0))});
                sides.push_back({pixels(s, halo_.left[s], limbs_.sound.left[s]),
                                 pixels(s, limbs_.sound.right[s], halo_.right[s])});
                sides_too_long.push_back(seen_too_long(slope_at(s).across));
            }
        // At either end the last fibre decides, and the next lies a millimetre or two farther in.
        constexpr double last_fibre_mm = 2.0;
        // The ends are made of fibres of the usual reach, shorter than those that make the width.
        const double unseen_at_ends = unseen_falloffs(halo_.unseen_share(usual_reach_mm));
        // Seen at a slant along the rope, fibres reach as much too far along it as they would across.
        const Slope middle_slope = slope_at((whole.from + whole.to) / 2);
        const double length_correction = shortfall_made_good * length_shortfall_mm(unseen_at_ends) -
                                         (seen_too_long(middle_slope.along) - 1) * beyond_mm;
        out.readings.push_back(propagation_.reading(
            Measurand::fray_length,
            [&, along](const View& view) {
                double sum = length_correction;
                for (const auto& pair : along) sum += Ruler(view, level_).distance_mm(pair, axis_height());
                return sum;
            },
            {{tr_later("where the fray begins and ends"),
              std::hypot(span_u(loose.length, strict.length), last_fibre_mm)},
             {tr_later("fibres too fine to be seen"), length_shortfall_u_mm(unseen_at_ends)},
             {tr_later("height of the fibres"),
              length_by_width_u * height_u_rel(middle_slope.whole) * beyond_mm}},
            outline(whole, halo_.left, halo_.right)));
        // What is no longer than its own doubt may as well be no fray: a line or two of the bench.
        const bool may_be_none = out.readings.back().value < out.readings.back().U;

        // Most of the outline is of fibres of the usual reach.
        const double area_correction = (area_short_a_falloff * unseen_at_ends - area_too_far) * usual.area;
        out.readings.push_back(propagation_.reading(
            Measurand::fray_area,
            [&, sides, along](const View& view) {
                const Ruler ruler(view, level_);
                double sum = area_correction;
                for (std::size_t i = 0; i < sides.size(); ++i)
                    sum += (ruler.distance_mm(sides[i][0], axis_height()) +
                            ruler.distance_mm(sides[i][1], axis_height())) *
                           ruler.distance_mm(along[i], axis_height()) / sides_too_long[i];
                return sum;
            },
            {{tr_later("where fibres end"), span_u(loose.area, strict.area)},
             {tr_later("fibres too fine to be seen"),
              std::hypot(area_shortfall_u * unseen_at_ends * usual.area,
                         length_shortfall_u_mm(unseen_at_ends) * falloff_mm)},
             {tr_later("height of the fibres"), height_u_rel(middle_slope.across) * usual.area},
             {tr_later("outline between the outermost fibres"), outline_u_rel * usual.area},
             {tr_later("where the fray begins and ends"),
              usual.area / std::max(1.0, usual.length) * station_mm()}},
            outline(whole, halo_.left, halo_.right)));
        // Where most single fibres could not be followed on this bench, and no stretch stands out clear of
        // the edge by more than chance lets the bare bench show (it shows that at 3 in 100 places: halo.cpp),
        // what is found is below what can be detected (ISO 11843-1): no reading, but the person must know of
        // it. So it is where next to none can be followed, and none or a few were: a change of light alone,
        // as the border of a shadow is.
        constexpr double mostly_unseen = 2.0 / 3, nearly_all = 0.8, plain_mm = 1.2, least_mm = 10.0;
        constexpr std::size_t few = 8;
        const double unseen_here = halo_.unseen_on_bench(long_mm);
        const bool hardly_show = unseen_here > mostly_unseen,
                   light_alone = unseen_here > nearly_all && halo_.plainness.size() < few;
        if (light_alone || may_be_none || (hardly_show && length_beyond(plain_mm) < least_mm)) {
            out.readings.erase(out.readings.begin() + static_cast<std::ptrdiff_t>(read_before),
                               out.readings.end());
            out.remarks.push_back(with_place(
                tr_later(
                    "something stands out beside the rope, loose fibres or the bench itself; look and feel "
                    "there, or take the photo again on a plain bench of another colour; along the rope"),
                whole));
            std::fill(frayed_.begin(), frayed_.end(), char{0});
            return;
        }
        if (hardly_show)
            out.remarks.emplace_back(tr_later(
                "fine loose fibres hardly show on this bench: lay the rope on a plain one of another colour "
                "for a closer reading"));
        if (height_u > 0.05 * usual.width)
            out.remarks.emplace_back(tr_later(
                "loose fibres stand at unknown heights: hold the camera straight above the fray for a closer "
                "reading"));
    }

    [[nodiscard]] std::string with_place(const char* words, const Run& run) const {
        return gauge::with_place(words, limbs_.light, run.from, run.to - 1);
    }

    // A width where both limbs were placed.
    struct PlacedWidth {
        std::size_t station;
        double width_mm;
    };
    // For each station the width of its placing, of the next to either side; on straight lines between two
    // that are no farther apart than may go unseen and differ both from the sound width, the same way;
    // the sound width elsewhere. Along a flattened stretch limbs are placed here and there only: its edges
    // bend, and their neighbours do not agree.
    [[nodiscard]] std::vector<double> widths_between(const std::vector<PlacedWidth>& placed,
                                                     double plain_mm) const {
        std::vector<double> widths(stations(), baseline_mm_);
        const PlacedWidth* before = nullptr;
        for (const PlacedWidth& here : placed) {
            for (std::size_t s = here.station < 1 ? 0 : here.station - 1;
                 s <= std::min(here.station + 1, stations() - 1); ++s)
                widths[s] = here.width_mm;
            if (before != nullptr) {
                const auto apart = static_cast<double>(here.station - before->station);
                const double first = before->width_mm - baseline_mm_, last = here.width_mm - baseline_mm_;
                if (apart * station_mm() <= longest_unseen * baseline_mm_ && first * last > 0 &&
                    std::min(std::abs(first), std::abs(last)) > plain_mm)
                    for (std::size_t s = before->station; s < here.station; ++s)
                        widths[s] = before->width_mm +
                                    (last - first) * static_cast<double>(s - before->station) / apart;
            }
            before = &here;
        }
        return widths;
    }

    // Where no width was placed for twice the rope's thickness, and a change of width that the scatter hides
    // though criteria ask for less (one in ten): nothing read there must not pass for nothing there.
    void tell_what_is_not_seen(const std::vector<PlacedWidth>& placed, double plain_mm,
                               RopeFindings& out) const {
        std::vector<char> unseen(stations(), 1);
        for (std::size_t s = 0; s < stations(); ++s)
            if (near_fray(s, beside_fray) || crowded_[s]) unseen[s] = 0;
        for (const PlacedWidth& w : placed) unseen[w.station] = 0;
        const auto least = static_cast<std::size_t>(std::lround(2 * baseline_mm_ / station_mm()));
        std::string places;
        for (const Run& run : runs_of(unseen, 0, least)) {
            const double from_mm = limbs_.light.along_mm[run.from] - limbs_.light.along_mm[0],
                         to_mm = limbs_.light.along_mm[run.to - 1] - limbs_.light.along_mm[0];
            places += fmt::format("{}{:.0f} – {:.0f}", places.empty() ? "" : ", ", from_mm, to_mm);
        }
        if (!places.empty()) out.remarks.push_back(fmt::format("{}: {} mm", edges_unclear, places));
        constexpr double asked_for = 0.1;
        if (plain_mm > asked_for * baseline_mm_)
            out.remarks.push_back(fmt::format(
                "{}: {:.1f} mm",
                tr_later("look and feel along the rope: its edges are too uneven in this photo to tell a "
                         "change of width of less than"),
                plain_mm));
    }

    // The stretch without loose fibres whose width differs most from the sound width, where it plainly does.
    void measure_local(RopeFindings& out) {
        std::vector<PlacedWidth> placed;
        std::vector<LimbPair> pairs;  // of them
        const Ruler ruler(fit_.view, level_);
        for (const LimbPair& p : limbs_.pairs)
            if (!near_fray(p.station, beside_fray) && !crowded_[p.station]) {
                placed.push_back({p.station, ruler.diameter_mm(pixels(p.station, p.left_mm, p.right_mm)) -
                                                 limbs_.ends_within_mm / 2});
                pairs.push_back(p);
            }
        const double plain = std::max(0.06 * baseline_mm_, 4 * scatter_mm_);
        tell_what_is_not_seen(placed, plain, out);
        const auto widths = widths_between(placed, plain);
        std::vector<char> differs(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s) differs[s] = std::abs(widths[s] - baseline_mm_) > plain;
        constexpr std::size_t gap = 3, least = 12;  // shorter than the rope is thick: a limb misplaced
        auto runs = runs_of(differs, gap, least);
        // A few placings do not tell how wide a stretch is; two that agree, that there is one.
        std::erase_if(runs, [&](const Run& run) {
            constexpr std::ptrdiff_t enough = 4, one = 1;
            const auto differing = std::count_if(placed.begin(), placed.end(), [&](const PlacedWidth& w) {
                return w.station >= run.from && w.station < run.to &&
                       std::abs(w.width_mm - baseline_mm_) > plain;
            });
            if (differing >= enough) return false;
            if (differing > one && !is_crowded(run, 0)) out.remarks.push_back(with_place(edges_unclear, run));
            return true;
        });
        // Neither what runs out of the picture, where nothing says how the rope goes on, nor what moves one
        // edge alone is read as a change of width; but the person must know of it.
        constexpr std::size_t course = 40;  // of the edges beside it, against which it is held
        std::erase_if(runs, [&](const Run& run) { return is_crowded(run, course); });
        std::vector<double> pair_widths;  // of a round rope
        for (const PlacedWidth& w : placed) pair_widths.push_back(w.width_mm);
        const auto smooth = running_median(pair_widths, 1);
        const auto whole = [&](const Run& run) { return widened(run, pairs, smooth); };
        std::erase_if(runs, [&](const Run& run) {
            const auto shape = shape_of(whole(run), run);
            double change_mm = 0.0;
            for (std::size_t s = run.from; s < run.to; ++s)
                change_mm += (widths[s] - baseline_mm_) / static_cast<double>(run.to - run.from);
            if (shape && !one_sided(shape->moved, change_mm)) return false;
            out.remarks.push_back(with_place(
                shape ? tr_later("one edge of the rope runs otherwise than the other over a stretch: look "
                                 "and feel there; along the rope")
                      : tr_later("the rope's width differs where it runs out of the picture: look and feel "
                                 "there, or take in more of the rope; along the rope"),
                run));
            return true;
        });
        if (runs.empty()) return;
        // Where three neighbours at a time, so that no single misplaced limb decides, differ most.
        std::optional<std::size_t> at;
        Run where;
        for (const Run& run : runs)
            for (std::size_t i = 0; i < pairs.size(); ++i)
                if (pairs[i].station >= run.from && pairs[i].station < run.to &&
                    (!at || std::abs(smooth[i] - baseline_mm_) > std::abs(smooth[*at] - baseline_mm_))) {
                    at = i;
                    where = run;
                }
        if (!at) return;
        // Those near it that are near the middle one of the three, in its run: their mean is the reading.
        std::vector<PixelPair> read;
        std::vector<double> plainness;
        constexpr std::size_t beside = 4;  // stations: as far as neighbours share light
        Run over{pairs[*at].station, pairs[*at].station + 1};
        for (std::size_t i = 0; i < pairs.size(); ++i) {
            const LimbPair& p = pairs[i];
            if (p.station + beside < pairs[*at].station || p.station > pairs[*at].station + beside) continue;
            if (std::abs(pair_widths[i] - smooth[*at]) > plain / 2) continue;
            over = {std::min(over.from, p.station), std::max(over.to, p.station + 1)};
            read.push_back(pixels(p.station, p.left_mm, p.right_mm));
            plainness.push_back(p.plainness);
        }
        const auto shape = shape_of(whole(where), over);
        if (read.empty() || !shape) return;
        // Where no limbs were placed about the widest for half as long again as the rope is thick, it may be
        // wider still.
        if (longest_gap_mm(whole(where), placed, std::abs(smooth[*at] - baseline_mm_) / 2) >
            longest_unseen * baseline_mm_) {
            out.remarks.push_back(with_place(edges_unclear, where));
            return;
        }
        const auto value = [&, read](const View& view) {
            double sum = 0.0;
            for (const PixelPair& pair : read) sum += Ruler(view, level_).diameter_mm(pair, shape->aspect);
            return sum / static_cast<double>(read.size()) - limbs_.ends_within_mm / 2;
        };
        auto lines = edge_lines(std::min(usual_plainness(), median(std::move(plainness))));
        lines.push_back({tr_later("scatter along the rope"), scatter_mm_ / std::sqrt(2.0)});
        // Flattening and swelling move both edges alike: where one moved less, it may be the one misplaced.
        lines.push_back({tr_later("edges that moved unequally"), unequal_mm(shape->moved) / std::sqrt(12.0)});
        lines.push_back({tr_later("flattened or swollen"), shape->width_u_mm});
        lines.push_back(
            {tr_later("card and rope not on one plane"), value(fit_.view) * plane_u_mm / camera_height()});
        Reading reading = propagation_.reading(Measurand::local_width, value, std::move(lines),
                                               outline(where, limbs_.sound.left, limbs_.sound.right));
        // What differs by no more than its own doubt may as well be misplaced edges.
        if (std::abs(reading.value - baseline_mm_) < reading.U)
            out.remarks.push_back(with_place(edges_unclear, where));
        else
            out.readings.push_back(std::move(reading));
    }

    // A run of stations that plainly differ in width, with those to either side up to where the width comes
    // back to the sound rope's: under a slanting line of sight a flattened stretch shows little of its
    // breadth.
    //   widths_mm   of the pairs
    [[nodiscard]] Run widened(Run run, const std::vector<LimbPair>& pairs,
                              const std::vector<double>& widths_mm) const {
        constexpr double back = 0.25;  // of the most that it differs by
        double most = 0.0;
        for (std::size_t i = 0; i < pairs.size(); ++i)
            if (pairs[i].station >= run.from && pairs[i].station < run.to &&
                std::abs(widths_mm[i] - baseline_mm_) > std::abs(most))
                most = widths_mm[i] - baseline_mm_;
        const auto differs = [&](std::size_t i) { return (widths_mm[i] - baseline_mm_) / most > back; };
        const auto first = std::find_if(pairs.begin(), pairs.end(),
                                        [&](const LimbPair& p) { return p.station >= run.from; });
        for (auto i = static_cast<std::size_t>(first - pairs.begin()); i-- > 0 && differs(i);)
            run.from = pairs[i].station;
        for (auto i = static_cast<std::size_t>(first - pairs.begin()); i < pairs.size(); ++i) {
            if (pairs[i].station < run.to) continue;
            if (!differs(i)) break;
            run.to = pairs[i].station + 1;
        }
        return run;
    }

    // From one placed width of a run to the next, where both differ so much from the sound width.
    [[nodiscard]] double longest_gap_mm(const Run& run, const std::vector<PlacedWidth>& placed,
                                        double differ_mm) const {
        std::size_t longest = 0;
        const PlacedWidth* before = nullptr;
        for (const PlacedWidth& w : placed) {
            const bool counts = w.station >= run.from && w.station < run.to &&
                                std::abs(w.width_mm - baseline_mm_) > differ_mm;
            if (counts && before != nullptr) longest = std::max(longest, w.station - before->station);
            before = counts ? &w : nullptr;
        }
        return static_cast<double>(longest) * station_mm();
    }

    // Of a stretch, as it is seen over some of its stations. Empty where too little of the rope beside it is
    // in the picture.
    [[nodiscard]] std::optional<ChangedShape> shape_of(const Run& stretch, const Run& over) const {
        auto moved = edges_moved(limbs_, stretch, over);
        const std::size_t middle = (over.from + over.to) / 2;
        const PixelPair pair = pixels(middle, limbs_.sound.left[middle], limbs_.sound.right[middle]);
        const auto left = fit_.view.bench_from_picture(pair.left_px),
                   right = fit_.view.bench_from_picture(pair.right_px);
        if (moved.empty() || !left || !right) return std::nullopt;
        return changed_shape({*left, *right, fit_.view.camera_in_bench(), level_, baseline_mm_,
                              std::move(moved), scatter_mm_});
    }

    void fill_profile(RopeFindings& out) const {
        WidthProfile profile;
        profile.baseline_mm = baseline_mm_;
        const Ruler ruler(fit_.view, level_);
        const double height = 0.5 * baseline_mm_;
        for (std::size_t s = 0; s < stations(); ++s) {
            const double sound = ruler.diameter_mm(pixels(s, limbs_.sound.left[s], limbs_.sound.right[s]));
            const double dense =
                frayed_[s] ? ruler.distance_mm(pixels(s, halo_.dense_left[s], halo_.dense_right[s]), height)
                           : sound;
            const double fray =
                frayed_[s] ? ruler.distance_mm(pixels(s, halo_.left[s], halo_.right[s]), height) : sound;
            profile.station_mm.push_back(limbs_.light.along_mm[s] - limbs_.light.along_mm[0]);
            profile.width_mm.push_back(std::max(sound, dense));
            profile.fray_mm.push_back(std::max(sound, fray));
            profile.centre_px.push_back(picture_px(s, (limbs_.sound.left[s] + limbs_.sound.right[s]) / 2));
            profile.look.push_back(look_across(limbs_.strip, limbs_.light, s, limbs_.sound.left[s],
                                               limbs_.sound.right[s], Section::round));
        }
        out.profile = std::move(profile);
    }

    static constexpr const char* edges_unclear = tr_later(
        "the rope's edges are not clear, so that no width is read there; look and feel there; along the "
        "rope");
    // The card lies on the bench with its own thickness, and a rope presses into a soft bench.
    static constexpr double plane_u_mm = 0.3;
    // Of a changed stretch, without limbs, in thicknesses of the rope: longer, and it may change more within.
    static constexpr double longest_unseen = 1.5;
    static constexpr std::size_t fray_margin = 6;    // stations beside a fray that are looked at with it
    static constexpr std::size_t beside_fray = 25;   // stations where fibres still hide the sound edge
    static constexpr double clear_of_edge_mm = 0.5;  // a fibre counts from here outward
    static constexpr double long_mm = 1000.0;        // of a fibre: seen as soon as any of its thickness
    // What the area between fibre ends was misjudged by on rendered frays, one standard deviation.
    static constexpr double outline_u_rel = 0.12;

    RopeLimbs limbs_;
    std::vector<char> crowded_;
    const ViewFit& fit_;
    const Propagation& propagation_;
    Level level_;
    Halo halo_;
    CoreSight core_;
    std::vector<char> frayed_;
    std::vector<Run> fray_runs_;
    double baseline_mm_ = 0.0;
    double baseline_u_mm_ = 0.0;
    double scatter_mm_ = 0.0;
};

RopeFindings none_lies_alone() {
    RopeFindings none;
    none.remarks.emplace_back(
        tr_later("other lengths lie against the rope where it was followed: lay the length to be measured "
                 "by itself"));
    return none;
}

}  // namespace

RopeFindings measure_rope(const cv::Mat& bgr, const ReducedPicture& reduced, const ViewFit& fit,
                          const Propagation& propagation, const Track& track, Level level) {
    auto limbs = find_limbs(bgr, reduced, fit.view, track, fit.edge_width_px);
    if (!limbs) {
        RopeFindings none;
        none.remarks.emplace_back(tr_later(
            "the rope's edges are not clear enough to measure: lay it on a bench of another colour"));
        return none;
    }
    std::vector<char> crowded = beside_others(*limbs, bgr, fit.view);
    if (std::find(crowded.begin(), crowded.end(), char{0}) == crowded.end()) return none_lies_alone();
    return RopeMeasurement(std::move(*limbs), std::move(crowded), fit, propagation, paper_tint(bgr, fit),
                           level)
        .findings();
}

}  // namespace frayhold::gauge
