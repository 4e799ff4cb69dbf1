// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "gauge/halo.h"
#include "gauge/rope_core.h"
#include "gauge/rope_limbs.h"
#include "gauge/round_item.h"

namespace frayhold::gauge {
namespace {

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

// Where two edges of the item stand in the picture, held fixed while the view is varied.
struct PixelPair {
    cv::Point2d left_px;
    cv::Point2d right_px;
};

// Millimetres from pixels, for a given view.
class Ruler {
  public:
    Ruler(const View& view, Level level) : view_(view), level_(level) {}

    // Diameter of the round rope between two edges of sight. NaN where the view cannot see the bench there.
    [[nodiscard]] double diameter_mm(const PixelPair& pair) const {
        const auto left = view_.bench_from_picture(pair.left_px), right = view_.bench_from_picture(pair.right_px);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        return level_ == Level::bench ? diameter_on_plane_mm(*left, *right, view_.camera_in_bench())
                                      : diameter_about_plane_mm(*left, *right, view_.camera_in_bench());
    }

    // Straight distance between two points that stand at a height over the bench (or over the card, when raised).
    [[nodiscard]] double distance_mm(const PixelPair& pair, double height_mm) const {
        const double h = level_ == Level::bench ? height_mm : 0.0;
        const auto left = view_.bench_from_picture(pair.left_px, h), right = view_.bench_from_picture(pair.right_px, h);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        return cv::norm(*left - *right);
    }

  private:
    const View& view_;
    Level level_;
};

// A run of stations [from, to).
struct Run {
    std::size_t from = 0;
    std::size_t to = 0;
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
    RopeMeasurement(RopeLimbs limbs, const ViewFit& fit, const Propagation& propagation, Level level)
        : limbs_(std::move(limbs)), fit_(fit), propagation_(propagation), level_(level), halo_(find_halo(limbs_.strip, limbs_.light, limbs_.sound, limbs_.blur_mm)) {}

    RopeFindings findings() {
        RopeFindings out;
        find_fray();
        if (!measure_sound(out)) return out;
        measure_fray(out);
        measure_local(out);
        CoreFindings core = measure_core(limbs_, fit_, propagation_, level_, baseline_mm_);
        for (Reading& reading : core.readings) out.readings.push_back(std::move(reading));
        for (std::string& remark : core.remarks) out.remarks.push_back(std::move(remark));
        fill_profile(out);
        return out;
    }

  private:
    [[nodiscard]] std::size_t stations() const { return limbs_.sound.left.size(); }
    [[nodiscard]] cv::Point2d picture_px(std::size_t station, double across_mm) const {
        return fit_.view.picture_from_bench(limbs_.strip.bench_mm(limbs_.light.row[station], across_mm));
    }
    [[nodiscard]] PixelPair pixels(std::size_t station, double left_mm, double right_mm) const {
        return {picture_px(station, left_mm), picture_px(station, right_mm)};
    }
    [[nodiscard]] double camera_height() const { return fit_.view.camera_in_bench().z; }

    // Stations with fibres beyond both the blur and single surface yarns, as one stretch or several.
    void find_fray() {
        constexpr double clear_of_edge_mm = 0.5;
        frayed_.assign(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s)
            frayed_[s] = limbs_.sound.left[s] - halo_.left[s] > clear_of_edge_mm || halo_.right[s] - limbs_.sound.right[s] > clear_of_edge_mm;
        // A stray yarn here and there is no fray: that is a stretch, most of it with fibres, some of them well clear.
        constexpr std::size_t gap = 4, least = 7;
        fray_runs_ = runs_of(frayed_, gap, least);
        std::erase_if(fray_runs_, [&](const Run& run) {
            std::size_t with_fibres = 0;
            double farthest = 0.0;
            for (std::size_t s = run.from; s < run.to; ++s) {
                with_fibres += frayed_[s];
                farthest = std::max({farthest, limbs_.sound.left[s] - halo_.left[s], halo_.right[s] - limbs_.sound.right[s]});
            }
            constexpr double well_clear_mm = 1.5;
            return 2 * with_fibres < run.to - run.from || farthest < well_clear_mm;
        });
        std::vector<char> kept(stations(), 0);
        for (const Run& run : fray_runs_)
            for (std::size_t s = run.from; s < run.to; ++s) kept[s] = frayed_[s];
        frayed_ = std::move(kept);
    }

    [[nodiscard]] bool near_fray(std::size_t station, std::size_t margin) const {
        return std::any_of(fray_runs_.begin(), fray_runs_.end(),
                           [&](const Run& r) { return station + margin >= r.from && station < r.to + margin; });
    }

    // Outline of a few stations spread over a range: down the left side, back up the right.
    [[nodiscard]] std::vector<cv::Point2d> outline(const Run& run, const std::vector<double>& left, const std::vector<double>& right) const {
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
            if (near_fray(p.station, 5)) continue;
            const PixelPair pair = pixels(p.station, p.left_mm, p.right_mm);
            const double d = ruler.diameter_mm(pair);
            if (std::isnan(d)) continue;
            pairs.push_back(pair);
            diameters.push_back(d);
        }
        constexpr std::size_t least_pairs = 8;
        if (diameters.size() < least_pairs) {
            out.remarks.emplace_back("too little of the rope shows clear edges: lay it on a bench of another colour");
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
            return weighted / total;
        };
        std::vector<BudgetLine> lines;
        lines.push_back({"scatter along the rope", spread / std::sqrt(independent), independent - 1});
        for (BudgetLine& line : edge_lines()) lines.push_back(std::move(line));
        lines.push_back({"card and rope not on one plane", mean * plane_u_mm / camera_height()});
        const Run all{0, stations()};
        Reading reading = propagation_.reading(Measurand::sound_width, value, std::move(lines), outline(all, limbs_.sound.left, limbs_.sound.right));
        baseline_mm_ = reading.value;
        scatter_mm_ = spread;
        out.readings.push_back(std::move(reading));
        return true;
    }

    // What the limb model may get wrong, on both limbs alike. Limb and contact shadow can make a dark border of up to
    // 0.4 mm that belongs to the item or to the bench: a blur much finer shows which, a coarser one hides it
    // (a rectangle of that half-width). And where item and bench look alike, the place itself is doubtful.
    [[nodiscard]] std::vector<BudgetLine> edge_lines() const {
        constexpr double border_mm = 0.4, doubt_mm = 1.0, plain = 0.75;
        const double blur2 = limbs_.blur_mm * limbs_.blur_mm, half2 = border_mm * border_mm / 4;
        std::vector<double> plainness;
        for (const LimbPair& p : limbs_.pairs) plainness.push_back(p.plainness);
        return {{"where the edge of sight lies in its blur", border_mm * blur2 / (blur2 + half2) / std::sqrt(3.0)},
                {"likeness of item and bench", doubt_mm * std::exp(-median(std::move(plainness)) / plain)}};
    }

    void measure_fray(RopeFindings& out) {
        if (fray_runs_.empty()) return;
        const double radius = 0.5 * baseline_mm_;
        const double height = level_ == Level::bench ? radius : 0.0;
        std::size_t widest = fray_runs_.front().from, widest_dense = widest;
        std::vector<std::size_t> frayed;
        for (const Run& run : fray_runs_)
            for (std::size_t s = run.from; s < run.to; ++s) {
                if (frayed_[s]) frayed.push_back(s);
                if (halo_.right[s] - halo_.left[s] > halo_.right[widest] - halo_.left[widest]) widest = s;
                if (halo_.dense_right[s] - halo_.dense_left[s] > halo_.dense_right[widest_dense] - halo_.dense_left[widest_dense]) widest_dense = s;
            }
        // A fibre may stand anywhere from the bench to twice the rope's height: a rectangle about its middle.
        const double height_u = radius / std::sqrt(3.0);
        const auto own_lines = [&](double width, double strict_width) {
            std::vector<BudgetLine> lines;
            lines.push_back({"height of the fibres", width * height_u / camera_height()});
            lines.push_back({"where a fibre ends", std::hypot(std::abs(width - strict_width) / std::sqrt(12.0), 1.4 * limbs_.blur_mm)});
            return lines;
        };
        const auto add_width = [&](Measurand measurand, std::size_t s, double left, double right, double strict_width) {
            const PixelPair pair = pixels(s, left, right);
            out.readings.push_back(propagation_.reading(
                measurand, [&, pair](const View& view) { return Ruler(view, level_).distance_mm(pair, height); },
                own_lines(right - left, strict_width), {pair.left_px, pair.right_px}));
        };
        add_width(Measurand::fray_width, widest, halo_.left[widest], halo_.right[widest], halo_.strict_right[widest] - halo_.strict_left[widest]);
        add_width(Measurand::fray_dense_width, widest_dense, halo_.dense_left[widest_dense], halo_.dense_right[widest_dense],
                  halo_.dense_right[widest_dense] - halo_.dense_left[widest_dense]);

        const Run whole{fray_runs_.front().from, fray_runs_.back().to};
        const double station_mm = limbs_.light.along_mm.size() > 1 ? limbs_.light.along_mm[1] - limbs_.light.along_mm[0] : 1.0;
        std::vector<PixelPair> along;
        for (const std::size_t s : frayed) {
            const double row = limbs_.light.row[s], half = 0.5 * (limbs_.light.row[1] - limbs_.light.row[0]);
            along.push_back({fit_.view.picture_from_bench(limbs_.strip.bench_mm(row - half, 0)), fit_.view.picture_from_bench(limbs_.strip.bench_mm(row + half, 0))});
        }
        std::size_t strict = 0;
        for (const std::size_t s : frayed)
            strict += limbs_.sound.left[s] - halo_.strict_left[s] > 0.5 || halo_.strict_right[s] - limbs_.sound.right[s] > 0.5;
        const double doubtful_mm = static_cast<double>(frayed.size() - strict) * station_mm;
        out.readings.push_back(propagation_.reading(
            Measurand::fray_length,
            [&, along](const View& view) {
                double sum = 0.0;
                for (const auto& pair : along) sum += Ruler(view, level_).distance_mm(pair, height);
                return sum;
            },
            {{"where the fray begins and ends", std::hypot(doubtful_mm / std::sqrt(12.0), station_mm / std::sqrt(6.0))}},
            outline(whole, halo_.left, halo_.right)));

        double strict_area = 0.0, area = 0.0;
        std::vector<std::array<PixelPair, 2>> sides;
        for (const std::size_t s : frayed) {
            sides.push_back({pixels(s, halo_.left[s], limbs_.sound.left[s]), pixels(s, limbs_.sound.right[s], halo_.right[s])});
            area += (limbs_.sound.left[s] - halo_.left[s] + halo_.right[s] - limbs_.sound.right[s]) * station_mm;
            strict_area += (limbs_.sound.left[s] - halo_.strict_left[s] + halo_.strict_right[s] - limbs_.sound.right[s]) * station_mm;
        }
        out.readings.push_back(propagation_.reading(
            Measurand::fray_area,
            [&, sides, along](const View& view) {
                const Ruler ruler(view, level_);
                double sum = 0.0;
                for (std::size_t i = 0; i < sides.size(); ++i)
                    sum += (ruler.distance_mm(sides[i][0], height) + ruler.distance_mm(sides[i][1], height)) * ruler.distance_mm(along[i], height);
                return sum;
            },
            {{"where fibres end", std::abs(area - strict_area) / std::sqrt(12.0)}, {"height of the fibres", 2 * area * height_u / camera_height()}},
            outline(whole, halo_.left, halo_.right)));
    }

    // The stretch without loose fibres whose width differs most from the sound width, where it plainly does.
    void measure_local(RopeFindings& out) {
        std::vector<double> widths(stations(), baseline_mm_);
        const Ruler ruler(fit_.view, level_);
        for (const LimbPair& p : limbs_.pairs)
            if (!near_fray(p.station, 3)) {
                const double d = ruler.diameter_mm(pixels(p.station, p.left_mm, p.right_mm));
                for (std::size_t s = p.station < 1 ? 0 : p.station - 1; s <= std::min(p.station + 1, stations() - 1); ++s) widths[s] = d;
            }
        const double plain = std::max(0.05 * baseline_mm_, 4 * scatter_mm_);
        std::vector<char> differs(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s) differs[s] = std::abs(widths[s] - baseline_mm_) > plain;
        constexpr std::size_t gap = 3, least = 6;
        const auto runs = runs_of(differs, gap, least);
        if (runs.empty()) return;
        const auto smooth = running_median(widths, 2);
        std::size_t at = runs.front().from;
        Run where = runs.front();
        for (const Run& run : runs)
            for (std::size_t s = run.from; s < run.to; ++s)
                if (std::abs(smooth[s] - baseline_mm_) > std::abs(smooth[at] - baseline_mm_)) {
                    at = s;
                    where = run;
                }
        const PixelPair pair = pixels(at, limbs_.sound.left[at], limbs_.sound.right[at]);
        // What is flattened is no circle: its height is unknown, from a third of the sound rope's to all of it.
        const double height_u = baseline_mm_ / 3 / std::sqrt(3.0);
        auto lines = edge_lines();
        lines.push_back({"scatter along the rope", scatter_mm_ / std::sqrt(2.0)});
        lines.push_back({"height of the changed stretch", baseline_mm_ * height_u / camera_height()});
        out.readings.push_back(propagation_.reading(
            Measurand::local_width, [&, pair](const View& view) { return Ruler(view, level_).diameter_mm(pair); }, std::move(lines),
            outline(where, limbs_.sound.left, limbs_.sound.right)));
    }

    void fill_profile(RopeFindings& out) const {
        WidthProfile profile;
        profile.baseline_mm = baseline_mm_;
        const Ruler ruler(fit_.view, level_);
        const double height = 0.5 * baseline_mm_;
        for (std::size_t s = 0; s < stations(); ++s) {
            const double sound = ruler.diameter_mm(pixels(s, limbs_.sound.left[s], limbs_.sound.right[s]));
            const double dense = frayed_[s] ? ruler.distance_mm(pixels(s, halo_.dense_left[s], halo_.dense_right[s]), height) : sound;
            const double fray = frayed_[s] ? ruler.distance_mm(pixels(s, halo_.left[s], halo_.right[s]), height) : sound;
            profile.station_mm.push_back(limbs_.light.along_mm[s] - limbs_.light.along_mm[0]);
            profile.width_mm.push_back(std::max(sound, dense));
            profile.fray_mm.push_back(std::max(sound, fray));
            profile.centre_px.push_back(picture_px(s, (limbs_.sound.left[s] + limbs_.sound.right[s]) / 2));
        }
        out.profile = std::move(profile);
    }

    // The card lies on the bench with its own thickness, and a rope presses into a soft bench.
    static constexpr double plane_u_mm = 0.3;

    RopeLimbs limbs_;
    const ViewFit& fit_;
    const Propagation& propagation_;
    Level level_;
    Halo halo_;
    std::vector<char> frayed_;
    std::vector<Run> fray_runs_;
    double baseline_mm_ = 0.0;
    double scatter_mm_ = 0.0;
};

}  // namespace

RopeFindings measure_rope(const cv::Mat& bgr, const ReducedPicture& reduced, const ViewFit& fit,
                          const Propagation& propagation, const Track& track, Level level) {
    auto limbs = find_limbs(bgr, reduced, fit.view, track, fit.edge_width_px);
    if (!limbs) {
        RopeFindings none;
        none.remarks.emplace_back("the rope's edges are not clear enough to measure: lay it on a bench of another colour");
        return none;
    }
    return RopeMeasurement(std::move(*limbs), fit, propagation, level).findings();
}

}  // namespace frayhold::gauge
