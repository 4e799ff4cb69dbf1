// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "gauge/changed_edge.h"
#include "gauge/halo.h"
#include "gauge/quantile.h"
#include "gauge/webbing_cells.h"
#include "gauge/webbing_cut.h"
#include "gauge/webbing_edges.h"
#include "gauge/webbing_nick.h"
#include "gauge/webbing_stitches.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

// 1.5 to 3 mm, any as likely: usual for load-bearing webbing, common practice, no source.
constexpr double thickness_mm = 2.25;
const double thickness_u_mm = 0.75 / std::sqrt(3.0);
// The card lies on the bench with its own thickness, and the webbing may not lie quite flat.
constexpr double plane_u_mm = 0.3;

struct PixelPair {
    cv::Point2d left_px;
    cv::Point2d right_px;
};

// Millimetres from pixels, for a given view and thickness.
class WebRuler {
  public:
    WebRuler(const View& view, Level level, double thickness)
        : view_(view), level_(level), thickness_(thickness) {}

    [[nodiscard]] double distance_mm(const PixelPair& pair) const {
        const auto left = at_edge_height(pair.left_px), right = at_edge_height(pair.right_px);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        return cv::norm(*left - *right);
    }

    // Between two opposite edges of sight: see webbing.h.
    [[nodiscard]] double width_mm(const PixelPair& pair) const {
        const auto left = at_edge_height(pair.left_px), right = at_edge_height(pair.right_px);
        if (!left || !right) return std::numeric_limits<double>::quiet_NaN();
        const double apart = cv::norm(*left - *right);
        const cv::Point2d across = (*right - *left) / apart;
        const cv::Point3d camera = view_.camera_in_bench();
        const auto beyond = [&](const cv::Point2d& at) {
            const double slant = (cv::Point2d(camera.x, camera.y) - at).dot(across) / camera.z;
            return thickness_ / 2 * (std::sqrt(1 + slant * slant) - 1);
        };
        return apart - beyond(*left) - beyond(*right);
    }

    // A nick that begins and ends on the edge at two places and closes at a point, which lies opposite to a
    // foot on the edge.
    [[nodiscard]] Cut cut(const cv::Point2d& begin_px, const cv::Point2d& end_px, const cv::Point2d& foot_px,
                          const cv::Point2d& point_px) const {
        const auto begin = at_edge_height(begin_px), end = at_edge_height(end_px),
                   foot = at_edge_height(foot_px), point = at_edge_height(point_px);
        constexpr double nan = std::numeric_limits<double>::quiet_NaN();
        if (!begin || !end || !foot || !point) return {nan, nan, nan};
        const Cut seen{cv::norm(*end - *begin), cv::norm(*point - *foot),
                       (*foot - *begin).dot(*end - *begin) / cv::norm(*end - *begin)};
        const cv::Point3d camera = view_.camera_in_bench();
        const cv::Point2d slant = (cv::Point2d(camera.x, camera.y) - *foot) / camera.z;
        return cut_seen_aslant(
            seen, {slant.dot(*end - *begin) / seen.length_mm, slant.dot(*point - *foot) / seen.depth_mm},
            thickness_);
    }

  private:
    [[nodiscard]] std::optional<cv::Point2d> at_edge_height(cv::Point2d px) const {
        return view_.bench_from_picture(px, level_ == Level::bench ? thickness_ / 2 : 0.0);
    }

    const View& view_;
    Level level_;
    double thickness_;
};

struct Run {
    std::size_t from = 0;
    std::size_t to = 0;
};

constexpr std::array<double, 2> sides{-1.0, 1.0};  // left, right
// Standard uncertainty of where fluff begins, and of where it ends: it thins out there.
constexpr double fluff_end_u_mm = 1.5;

class WebMeasurement {
  public:
    WebMeasurement(WebEdges web, const ViewFit& fit, const Propagation& propagation, Level level)
        : web_(std::move(web)),
          cells_(web_cells(web_)),
          fit_(fit),
          propagation_(propagation),
          level_(level),
          halo_(find_halo(web_.strip, web_.light, web_.sound, web_.blur_mm)) {}

    WebbingFindings findings() {
        WebbingFindings out;
        nick_ = find_nick(cells_, {edge_u_mm(), thickness_mm * camera_along(), web_.blur_mm});
        find_fluff();
        if (!measure_width(out)) return out;
        measure_nick(out);
        measure_fluff(out);
        count_stitches(out);
        fill_profile(out);
        return out;
    }

  private:
    [[nodiscard]] std::size_t stations() const { return web_.sound.left.size(); }
    [[nodiscard]] double station_mm() const { return web_.light.station_mm(); }
    [[nodiscard]] cv::Point2d picture_px(double row, double across_mm) const {
        return fit_.view.picture_from_bench(web_.strip.bench_mm(row, across_mm));
    }
    [[nodiscard]] PixelPair pixels(std::size_t s, double left_mm, double right_mm) const {
        return {picture_px(web_.light.row[s], left_mm), picture_px(web_.light.row[s], right_mm)};
    }
    [[nodiscard]] double camera_height() const { return fit_.view.camera_in_bench().z; }
    [[nodiscard]] std::size_t station_at(double row) const {
        const double s = (row - web_.light.row[0]) / web_.light.rows_a_station();
        return static_cast<std::size_t>(std::clamp(std::lround(s), 0L, static_cast<long>(stations()) - 1));
    }
    // How well the place of a single edge in its blur is known: between a rounded, shaded selvedge and its
    // own shadow nothing tells it better.
    [[nodiscard]] double edge_u_mm() const { return 0.65 * web_.blur_mm; }

    // How far the line of sight runs along the webbing, towards later stations, for each millimetre up.
    [[nodiscard]] double camera_along() const {
        const std::size_t middle = stations() / 2;
        const cv::Point2d here = web_.strip.bench_mm(web_.light.row[middle], 0.0),
                          next = web_.strip.bench_mm(web_.light.row[middle + 1], 0.0);
        const cv::Point3d camera = fit_.view.camera_in_bench();
        return (cv::Point2d(camera.x, camera.y) - here).dot(next - here) / cv::norm(next - here) / camera.z;
    }

    // Stations where fibres leave the edge and stand well clear of it. A stray fibre here and there is no
    // fluff: that is a stretch, most of it with fibres.
    void find_fluff() {
        constexpr double clear_of_edge_mm = 0.5;
        constexpr std::size_t gap = 3, least = 6;
        std::vector<char> clear(stations(), 0);
        std::vector<Run> runs;
        for (std::size_t s = 0; s < stations(); ++s) {
            clear[s] = out_mm(s, -1.0) > clear_of_edge_mm || out_mm(s, 1.0) > clear_of_edge_mm;
            if (!clear[s]) continue;
            if (!runs.empty() && s - runs.back().to <= gap)
                runs.back().to = s + 1;
            else
                runs.push_back({s, s + 1});
        }
        fluffed_.assign(stations(), 0);
        for (Run run : runs) {
            const auto with_fibres = [&] {
                return static_cast<std::size_t>(
                    std::count(clear.begin() + static_cast<std::ptrdiff_t>(run.from),
                               clear.begin() + static_cast<std::ptrdiff_t>(run.to), 1));
            };
            if (with_fibres() < least || 2 * with_fibres() < run.to - run.from || one_straight_line(run) ||
                out_of_strip(run))
                continue;
            trim(run);
            if (with_fibres() < least || blurred_edges(run) || !light_changes(run)) continue;
            std::copy(clear.begin() + static_cast<std::ptrdiff_t>(run.from),
                      clear.begin() + static_cast<std::ptrdiff_t>(run.to),
                      fluffed_.begin() + static_cast<std::ptrdiff_t>(run.from));
            fluff_runs_.push_back(run);
        }
        add_changed_edges();
    }

    // Whether the light beside the edge changes along a run, as loose fibres change it: chance marks of the
    // bench, followed as one fibre here and there, do not. And not by the nick alone.
    [[nodiscard]] bool light_changes(const Run& run) const {
        constexpr double plain = 3.0;
        if (!halo_.cover) return true;
        const std::vector<char> nicked = nicked_stations();
        const auto cut = std::count(nicked.begin() + static_cast<std::ptrdiff_t>(run.from),
                                    nicked.begin() + static_cast<std::ptrdiff_t>(run.to), 1);
        if (2 * static_cast<std::size_t>(cut) > run.to - run.from) return false;
        return std::any_of(sides.begin(), sides.end(), [&](double side) {
            const auto change =
                change_outside(web_.strip, *halo_.cover, web_.sound, side, station_mm(), run.from, run.to);
            return !change || (*change > plain && mean_out(run, side) > 0.0);
        });
    }

    // Whether what stands out along a run is alike on both edges and hardly clear of them: their own blur or
    // shadow, not fibres.
    [[nodiscard]] bool blurred_edges(const Run& run) const {
        constexpr double hardly_clear_mm = 1.0;
        const auto [less, more] = std::minmax({mean_out(run, -1.0), mean_out(run, 1.0)});
        return more < hardly_clear_mm && 2 * less > more;
    }

    // 1 at each station of the deepest nick.
    [[nodiscard]] std::vector<char> nicked_stations() const {
        std::vector<char> nicked(stations(), 0);
        if (nick_.deepest) {
            const auto from = station_at(nick_.deepest->from_row), to = station_at(nick_.deepest->to_row);
            for (std::size_t s = std::min(from, to); s <= std::max(from, to); ++s) nicked[s] = 1;
        }
        return nicked;
    }

    // Fluff too fine to be followed, and what lies between the fibres that were.
    void add_changed_edges() {
        if (!halo_.cover) return;
        const std::vector<char> nicked = nicked_stations();
        struct Changed {
            ChangedEdge edge;
            double plainness;
        };
        std::vector<Changed> found;
        for (const double side : sides) {
            const auto edge = changed_edge(web_.strip, *halo_.cover, web_.sound, side, station_mm(), nicked);
            if (!edge) continue;
            const auto plainness = change_outside(web_.strip, *halo_.cover, web_.sound, side, station_mm(),
                                                  edge->from, edge->to);
            found.push_back({*edge, plainness.value_or(0.0)});
        }
        // Marks of the bench pass for the fainter of two now and then.
        constexpr double much_fainter = 0.5;
        if (found.size() == 2) {
            if (found[0].plainness < found[1].plainness) std::swap(found[0], found[1]);
            if (found[1].plainness < much_fainter * found[0].plainness) found.pop_back();
        }
        const std::vector<Run> followed = fluff_runs_;
        for (const Changed& changed : found) add_changed_edge(changed.edge, followed);
        // Fluff thins out towards its ends: fibres alone tell them no better than a veil does.
        for (const Run& run : followed)
            if (std::none_of(found.begin(), found.end(), [&](const Changed& changed) {
                    return run.from < changed.edge.to && changed.edge.from < run.to;
                }))
                add_fluff_doubt(0.0);
        std::sort(fluff_runs_.begin(), fluff_runs_.end(),
                  [](const Run& a, const Run& b) { return a.from < b.from; });
    }

    // Where fibres were followed along much of the stretch too, they tell its ends as well: half-way, with a
    // rectangle over both. Where none was, a mark of the bench beside the edge might pass for a veil: the
    // webbing within must show it.
    void add_changed_edge(const ChangedEdge& edge, const std::vector<Run>& followed) {
        constexpr std::size_t much = 4;
        constexpr double plain_inside = 2.0;
        Run fibres{stations(), 0};
        std::size_t along = 0;
        for (const Run& run : followed) {
            if (run.to <= edge.from || run.from >= edge.to) continue;
            fibres = {std::min(fibres.from, run.from), std::max(fibres.to, run.to)};
            along += run.to - run.from;
        }
        if (along == 0 && edge.inside < plain_inside) return;
        Run whole{edge.from, edge.to};
        double apart_mm = 0.0;
        if (much * along >= edge.to - edge.from) {
            whole = {(edge.from + fibres.from) / 2, (edge.to + fibres.to + 1) / 2};
            const auto apart = [&](std::size_t a, std::size_t b) {
                return (static_cast<double>(a) - static_cast<double>(b)) * station_mm();
            };
            apart_mm = std::hypot(apart(edge.from, fibres.from), apart(edge.to, fibres.to));
            std::fill(fluffed_.begin() + static_cast<std::ptrdiff_t>(fibres.from),
                      fluffed_.begin() + static_cast<std::ptrdiff_t>(fibres.to), char{0});
        }
        std::fill(fluffed_.begin() + static_cast<std::ptrdiff_t>(whole.from),
                  fluffed_.begin() + static_cast<std::ptrdiff_t>(whole.to), char{1});
        fluff_runs_.push_back({edge.from, edge.to});
        add_fluff_doubt(apart_mm);
    }

    // Of both ends of one stretch, and a rectangle.
    void add_fluff_doubt(double rectangle_mm) {
        fluff_doubt_mm_ = std::hypot(fluff_doubt_mm_, rectangle_mm, std::sqrt(2.0 * 12.0) * fluff_end_u_mm);
    }

    // How far the outermost fibre stands out from one edge.
    [[nodiscard]] double out_mm(std::size_t s, double side) const {
        return side < 0 ? web_.sound.left[s] - halo_.left[s] : halo_.right[s] - web_.sound.right[s];
    }

    // Whether most of a run seems to reach as far as the strip does: glare or another thing, not fibres.
    [[nodiscard]] bool out_of_strip(const Run& run) const {
        std::size_t far = 0;
        for (std::size_t s = run.from; s < run.to; ++s)
            far += std::max(out_mm(s, -1.0), out_mm(s, 1.0)) > 0.9 * web_fibre_room_mm;
        return 2 * far > run.to - run.from;
    }

    // Takes from both ends of a run the stations where fibres only lean over from the next: where the light
    // just outside the edge, between that of the bench beyond the run and the webbing's, is far less changed
    // than along the run. What is about as much as that is doubtful.
    void trim(Run& run) {
        std::vector<double> changes;
        const double side = mean_out(run, -1.0) > mean_out(run, 1.0) ? -1.0 : 1.0;
        constexpr std::size_t beside_from = 4, beside_to = 18;
        cv::Vec3d bench, web;
        double n = 0.0;
        for (std::size_t s = run.from > beside_to ? run.from - beside_to : 0;
             s < std::min(run.to + beside_to, stations()); ++s) {
            if (s + beside_from >= run.from && s < run.to + beside_from) continue;
            bench += light_beside(s, side, 0.5, 1.2);
            web += light_beside(s, side, -1.0, -0.4);
            n += 1.0;
        }
        if (n == 0) return;
        const cv::Vec3d step = (web - bench) / n;
        for (std::size_t s = run.from; s < run.to; ++s)
            changes.push_back((light_beside(s, side, 0.5, 1.2) - bench / n).dot(step) / step.dot(step));
        const double usual = median(changes);
        constexpr double leans = 0.15, plain = 0.4;
        std::size_t from = 0, to = changes.size();
        while (from < to && changes[from] < leans * usual) ++from;
        while (to > from && changes[to - 1] < leans * usual) --to;
        for (std::size_t i = from; i < to && changes[i] < plain * usual; ++i) fluff_doubt_mm_ += station_mm();
        for (std::size_t i = to; i > from && changes[i - 1] < plain * usual; --i)
            fluff_doubt_mm_ += station_mm();
        run = {run.from + from, run.from + to};
    }

    [[nodiscard]] double mean_out(const Run& run, double side) const {
        double sum = 0.0;
        for (std::size_t s = run.from; s < run.to; ++s) sum += out_mm(s, side);
        return sum / static_cast<double>(run.to - run.from);
    }

    // Mean linear light of a station between two distances outward of one edge.
    [[nodiscard]] cv::Vec3d light_beside(std::size_t s, double side, double from_mm, double to_mm) const {
        const double edge = side < 0 ? web_.sound.left[s] : web_.sound.right[s];
        const double a = web_.strip.column_at(edge + side * from_mm),
                     b = web_.strip.column_at(edge + side * to_mm);
        const int from =
            std::clamp(static_cast<int>(std::lround(std::min(a, b))), 0, web_.strip.bgr.cols - 1);
        const int to =
            std::clamp(static_cast<int>(std::lround(std::max(a, b))), from, web_.strip.bgr.cols - 1);
        cv::Vec3d sum;
        const auto* row = web_.light.mean.ptr<cv::Vec3f>(static_cast<int>(s));
        for (int c = from; c <= to; ++c) sum += cv::Vec3d(row[c]);
        return sum / (to - from + 1);
    }

    // Whether what stands out along a run is one straight line leading away from the edge: a joint of the
    // bench, not fibres.
    [[nodiscard]] bool one_straight_line(const Run& run) const {
        for (const double side : {-1.0, 1.0}) {
            double n = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0, syy = 0.0;
            for (std::size_t s = run.from; s < run.to; ++s) {
                const double y = out_mm(s, side);
                if (y <= 0) continue;
                const double x = static_cast<double>(s - run.from) * station_mm();
                n += 1.0;
                sx += x;
                sy += y;
                sxx += x * x;
                sxy += x * y;
                syy += y * y;
            }
            if (2 * n < static_cast<double>(run.to - run.from)) continue;
            const double spread = sxx - sx * sx / n, slope = (sxy - sx * sy / n) / spread;
            const double scatter_mm =
                std::sqrt(std::max(0.0, (syy - sy * sy / n - slope * slope * spread) / n));
            constexpr double ragged_mm = 0.3, least_slope = 0.15;
            if (scatter_mm < ragged_mm && std::abs(slope) > least_slope) return true;
        }
        return false;
    }

    [[nodiscard]] bool damaged(std::size_t station) const {
        constexpr std::size_t margin = web_pair_window + 2;
        const auto near = [&](std::size_t from, std::size_t to) {
            return station + margin >= from && station <= to + margin;
        };
        if (nick_.deepest && near(station_at(nick_.deepest->from_row), station_at(nick_.deepest->to_row)))
            return true;
        return std::any_of(fluff_runs_.begin(), fluff_runs_.end(),
                           [&](const Run& r) { return near(r.from, r.to); });
    }

    bool measure_width(WebbingFindings& out) {
        std::vector<PixelPair> pairs;
        std::vector<double> widths;
        const WebRuler ruler(fit_.view, level_, thickness_mm);
        for (const WebPair& p : web_.pairs) {
            if (damaged(p.station)) continue;
            const PixelPair pair = pixels(p.station, p.left_mm, p.right_mm);
            const double width = ruler.width_mm(pair);
            if (std::isnan(width)) continue;
            pairs.push_back(pair);
            widths.push_back(width);
        }
        constexpr std::size_t least_pairs = 8;
        if (widths.size() < least_pairs) {
            out.remarks.emplace_back(tr_later(
                "too little of the webbing shows clear edges: lay it flat on a bench of another colour"));
            return false;
        }
        const auto width_of = [&](const View& view, double thickness) {
            const WebRuler r(view, level_, thickness);
            std::vector<double> values;
            for (const PixelPair& pair : pairs) values.push_back(r.width_mm(pair));
            return median(std::move(values));
        };
        width_mm_ = median(widths);
        std::vector<double> deviations;
        for (const double w : widths) deviations.push_back(std::abs(w - width_mm_));
        const double scatter = 1.4826 * median(std::move(deviations));
        // Neighbouring windows share stations; a median is 1.25 times as uncertain as a mean.
        const double independent =
            std::max(2.0, static_cast<double>(widths.size()) * web_pair_stride / (2 * web_pair_window + 1));
        const double by_thickness = (width_of(fit_.view, thickness_mm + thickness_u_mm) -
                                     width_of(fit_.view, thickness_mm - thickness_u_mm)) /
                                    2;

        const PixelPair& middle = pairs[pairs.size() / 2];
        out.readings.push_back(propagation_.reading(
            Measurand::web_width, [&](const View& view) { return width_of(view, thickness_mm); },
            {{tr_later("scatter along the webbing"), 1.25 * scatter / std::sqrt(independent),
              independent - 1},
             {tr_later("where the edge of sight lies in its blur"), std::sqrt(2.0) * edge_u_mm()},
             {tr_later("likeness of webbing and bench"), std::sqrt(2.0) * web_.edge_doubt_mm},
             {tr_later("thickness of the webbing"), std::abs(by_thickness)},
             {tr_later("height of the bench under it"), width_mm_ * plane_u_mm / camera_height()}},
            {middle.left_px, middle.right_px}));
        width_u_mm_ = out.readings.back().u;
        return true;
    }

    void measure_nick(WebbingFindings& out) {
        if (!nick_.can_tell)
            out.remarks.emplace_back(tr_later(
                "cannot tell nicks by colour on every edge: webbing and bench look alike; look and feel"));
        if (!nick_.deepest) return;
        const WebNick& nick = *nick_.deepest;
        const std::size_t s = station_at(nick.deepest_row);
        const double edge = nick.side < 0 ? web_.sound.left[s] : web_.sound.right[s];
        const auto beside = [&](double row) { return picture_px(row, edge); };
        const cv::Point2d begin_px = beside(nick.from_row), end_px = beside(nick.to_row),
                          foot_px = beside(nick.deepest_row),
                          point_px = picture_px(nick.deepest_row, edge - nick.side * nick.depth_mm);
        const std::vector<cv::Point2d> outline{begin_px, point_px, end_px};
        const auto cut = [&](const View& view, double thickness) {
            return WebRuler(view, level_, thickness).cut(begin_px, end_px, foot_px, point_px);
        };
        const Cut thick = cut(fit_.view, thickness_mm + thickness_u_mm),
                  thin = cut(fit_.view, thickness_mm - thickness_u_mm);
        const double height_u_rel = plane_u_mm / camera_height();
        const Cut seen = cut(fit_.view, thickness_mm);
        const double edge_line_u = std::hypot(edge_u_mm(), 0.05, web_.edge_doubt_mm);
        out.readings.push_back(propagation_.reading(
            Measurand::nick_depth, [&](const View& view) { return cut(view, thickness_mm).depth_mm; },
            {{tr_later("where the cut closes"), nick.depth_u_mm},
             {tr_later("where the edge line lies"), edge_line_u},
             {tr_later("thickness of the webbing"), std::abs(thick.depth_mm - thin.depth_mm) / 2},
             {tr_later("height of the bench under it"), nick.depth_mm * height_u_rel}},
            outline));
        const double depth = out.readings.back().value, depth_u = out.readings.back().u;
        out.readings.push_back(propagation_.reading(
            Measurand::nick_length, [&](const View& view) { return cut(view, thickness_mm).length_mm; },
            {{tr_later("where the cut begins and ends"), nick.length_u_mm},
             {tr_later("where the edge line lies"), edge_line_u * seen.length_mm / seen.depth_mm},
             {tr_later("thickness of the webbing"), std::abs(thick.length_mm - thin.length_mm) / 2},
             {tr_later("height of the bench under it"), seen.length_mm * height_u_rel}},
            outline));
        const double share = depth / width_mm_;
        out.readings.push_back(combine(Measurand::nick_share, share,
                                       {{tr_later("depth of the nick"), depth_u / width_mm_},
                                        {tr_later("width of the webbing"), share * width_u_mm_ / width_mm_}},
                                       outline));
        if (nick_.others > 0)
            out.remarks.push_back(
                fmt::format("{}: {}", tr_later("more nicks in the edges, less deep than the one measured"),
                            nick_.others));
    }

    void measure_fluff(WebbingFindings& out) const {
        if (fluff_runs_.empty()) return;
        std::vector<PixelPair> along;
        const double half = 0.5 * web_.light.rows_a_station();
        for (std::size_t s = 0; s < stations(); ++s) {
            if (!fluffed_[s]) continue;
            along.push_back(
                {picture_px(web_.light.row[s] - half, 0), picture_px(web_.light.row[s] + half, 0)});
        }
        // Each end falls anywhere in a station, and a fibre's root within about one of where it stands clear.
        const double ends = std::sqrt(2.0 * static_cast<double>(fluff_runs_.size()));
        std::vector<cv::Point2d> outline;
        Run whole = fluff_runs_.front();
        for (const Run& run : fluff_runs_) whole.to = std::max(whole.to, run.to);
        const std::size_t step = std::max<std::size_t>(1, (whole.to - whole.from) / 40);
        for (std::size_t s = whole.from; s < whole.to; s += step)
            outline.push_back(picture_px(web_.light.row[s], halo_.left[s]));
        for (std::size_t s = whole.to; s-- > whole.from;)
            if ((s - whole.from) % step == 0)
                outline.push_back(picture_px(web_.light.row[s], halo_.right[s]));
        out.readings.push_back(propagation_.reading(
            Measurand::fluff_length,
            [&](const View& view) {
                const WebRuler ruler(view, level_, thickness_mm);
                double sum = 0.0;
                for (const PixelPair& pair : along) sum += ruler.distance_mm(pair);
                return sum;
            },
            {{tr_later("where the fluff begins and ends"),
              std::hypot(fluff_doubt_mm_ / std::sqrt(12.0), ends * station_mm())},
             {tr_later("height of the fibres"),
              static_cast<double>(along.size()) * station_mm() * thickness_u_mm / camera_height()}},
            std::move(outline)));
    }

    void count_stitches(WebbingFindings& out) const {
        const StitchSearch found = find_stitches(cells_);
        if (found.patches)
            out.remarks.emplace_back(
                tr_later("stitching seen that is not in single rows across the webbing: count it by eye"));
        if (found.rows.empty()) {
            out.remarks.emplace_back(tr_later(
                "cannot tell stitching by colour: none seen in another colour than the webbing's; look and "
                "feel"));
            return;
        }
        int gaps = 0, doubtful_rows = 0, doubtful_gaps = 0;
        std::vector<cv::Point2d> outline;
        for (const StitchRowSeen& row : found.rows) {
            doubtful_rows += row.plain ? 0 : 1;
            gaps += row.plain_gaps + row.doubtful_gaps;
            doubtful_gaps += row.doubtful_gaps;
            const double middle = cells_.strip_row(0.5 * (row.from_row + row.to_row) - 0.5);
            const std::size_t s = station_at(middle);
            outline.push_back(
                picture_px(middle, web_.sound.left[s] + (row.from_column - cells_.margin) * cells_.cell_mm));
            outline.push_back(picture_px(
                middle,
                web_.sound.right[s] - (cells_.margin + cells_.across - row.to_column) * cells_.cell_mm));
        }
        const auto count_u = [](int doubtful) { return 0.5 * std::sqrt(static_cast<double>(doubtful)); };
        out.readings.push_back(combine(
            Measurand::stitch_rows, static_cast<double>(found.rows.size()),
            {{tr_later("rows that are not plain, half a count each"), count_u(doubtful_rows)}}, outline));
        out.readings.push_back(combine(
            Measurand::stitch_gaps, gaps,
            {{tr_later("gaps that are not plain, half a count each"), count_u(doubtful_gaps)}}, outline));
    }

    void fill_profile(WebbingFindings& out) const {
        WidthProfile profile;
        profile.baseline_mm = width_mm_;
        const WebRuler ruler(fit_.view, level_, thickness_mm);
        for (std::size_t s = 0; s < stations(); ++s) {
            const double sound = ruler.width_mm(pixels(s, web_.sound.left[s], web_.sound.right[s]));
            const double fray =
                fluffed_[s] ? ruler.distance_mm(pixels(s, halo_.left[s], halo_.right[s])) : sound;
            profile.station_mm.push_back(web_.light.along_mm[s] - web_.light.along_mm[0]);
            profile.width_mm.push_back(sound);
            profile.fray_mm.push_back(std::max(sound, fray));
            profile.centre_px.push_back(
                picture_px(web_.light.row[s], (web_.sound.left[s] + web_.sound.right[s]) / 2));
            profile.look.push_back(look_across(web_.strip, web_.light, s, web_.sound.left[s],
                                               web_.sound.right[s], Section::flat));
        }
        out.profile = std::move(profile);
    }

    WebEdges web_;
    WebCells cells_;
    const ViewFit& fit_;
    const Propagation& propagation_;
    Level level_;
    Halo halo_;
    NickSearch nick_;
    std::vector<char> fluffed_;
    std::vector<Run> fluff_runs_;
    double fluff_doubt_mm_ = 0.0;
    double width_mm_ = 0.0;
    double width_u_mm_ = 0.0;
};

}  // namespace

WebbingFindings measure_webbing(const cv::Mat& bgr, const ReducedPicture& reduced, const ViewFit& fit,
                                const Propagation& propagation, const Track& track, Level level) {
    auto edges = find_web_edges(bgr, reduced, fit.view, track, fit.edge_width_px);
    if (!edges) {
        WebbingFindings none;
        none.remarks.emplace_back(tr_later(
            "the webbing's edges are not clear enough to measure: lay it flat on a bench of another colour"));
        return none;
    }
    return WebMeasurement(std::move(*edges), fit, propagation, level).findings();
}

}  // namespace frayhold::gauge
