// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_nick.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "gauge/quantile.h"
#include "gauge/webbing_mark.h"
#include "gauge/webbing_opening.h"

namespace frayhold::gauge {
namespace {

// A normal distribution of cell colours with a few cells of any colour: thread, dirt, a loose fibre.
class Look {
  public:
    Look(const cv::Vec3d& mean, const cv::Matx33d& covariance)
        : mean_(mean),
          inverse_(covariance.inv()),
          peak_(1 / std::sqrt(std::pow(2 * CV_PI, 3) * cv::determinant(covariance))) {}

    [[nodiscard]] double log_density(const cv::Vec3d& v) const {
        const cv::Vec3d d = v - mean_;
        return std::log((1 - any_share) * peak_ * std::exp(-0.5 * d.dot(inverse_ * d)) +
                        any_share * any_density);
    }

  private:
    static constexpr double any_share = 0.02;
    static constexpr double any_density =
        1.0 / (4.0 * 1.5 * 1.5);  // log light and hue of things in one picture

    cv::Vec3d mean_;
    cv::Matx33d inverse_;
    double peak_;
};

// The bench beside one edge, the skin next to the edge left out. Its lightness may also be that of a shadow.
Look bench_look(const WebCells& cells, const WebSide& side) {
    const int skin = std::max(1, static_cast<int>(0.75 / cells.cell_mm));
    cv::Vec3d sum;
    cv::Matx33d products = cv::Matx33d::zeros();
    double n = 0.0;
    for (int r = 0; r < cells.colour.rows; r += 2)
        for (int i = -cells.margin; i < -skin; ++i) {
            const cv::Vec3d v = side.bare(r, i);
            sum += v;
            products += v * v.t();
            n += 1.0;
        }
    cv::Vec3d mean = sum / n;
    cv::Matx33d covariance = products * (1.0 / n) - mean * mean.t();
    constexpr double floor = 1e-3, shadow = 0.35, shadow_scatter = 0.4;
    for (int i = 0; i < 3; ++i) covariance(i, i) += floor;
    mean[0] -= shadow;
    covariance(0, 0) += shadow_scatter * shadow_scatter;
    return {mean, covariance};
}

// How much likelier each cell is bench than webbing: rows x inward. Beyond the picture nothing is told.
cv::Mat bench_against_web(const WebCells& cells, const WebSide& side, int deepest) {
    const Look bench = bench_look(cells, side), web({0, 0, 0}, cells.web_covariance);
    constexpr double most = 3.0;
    cv::Mat ratio(cells.colour.rows, deepest, CV_32F);
    for (int r = 0; r < ratio.rows; ++r)
        for (int i = 0; i < deepest; ++i)
            ratio.at<float>(r, i) =
                side.seen(r, i) ? static_cast<float>(std::clamp(bench.log_density(side.bare(r, i)) -
                                                                    web.log_density(side.unusual(r, i)),
                                                                -most, most))
                                : 0.0F;
    return ratio;
}

// Whether a cell of bench just outside the edge would be told from webbing.
bool can_tell(const WebCells& cells, const WebSide& side) {
    const Look bench = bench_look(cells, side);
    const int skin = std::max(1, static_cast<int>(0.75 / cells.cell_mm)),
              inside = static_cast<int>(1.5 / cells.cell_mm);
    const cv::Vec3d usual(cells.usual[static_cast<std::size_t>(side.column(inside) - cells.margin)]);
    const Look web(usual, cells.web_covariance);
    double sum = 0.0, n = 0.0;
    for (int r = 0; r < cells.colour.rows; r += 4)
        for (int i = -cells.margin; i < -skin; ++i) {
            const cv::Vec3d v = side.bare(r, i);
            sum += std::clamp(bench.log_density(v) - web.log_density(v), -3.0, 3.0);
            n += 1.0;
        }
    constexpr double plain = 1.0;
    return sum / n > plain;
}

// The most likely border, in cells inward from the edge line at every row, and what it wins over no nick
// there.
struct Border {
    std::vector<int> inward;
    std::vector<double> gain;
};

Border likeliest_border(const cv::Mat& ratio) {
    constexpr double price = 0.15;  // a step of one cell from row to row
    const int rows = ratio.rows, places = ratio.cols + 1;
    const auto width = static_cast<std::size_t>(places);
    cv::Mat from(rows, places, CV_16S), gains(rows, places, CV_64F);
    std::vector<double> best(width, 0.0), reached(width);
    std::vector<short> origin(width);
    for (int r = 0; r < rows; ++r) {
        for (std::size_t t = 0; t < width; ++t) {
            reached[t] = best[t];
            origin[t] = static_cast<short>(t);
        }
        const auto relax = [&](std::size_t to, std::size_t neighbour) {
            if (reached[neighbour] - price <= reached[to]) return;
            reached[to] = reached[neighbour] - price;
            origin[to] = origin[neighbour];
        };
        for (std::size_t t = 1; t < width; ++t) relax(t, t - 1);
        for (std::size_t t = width - 1; t-- > 0;) relax(t, t + 1);
        double sum = 0.0;
        for (int t = 0; t < places; ++t) {
            if (t > 0) sum += static_cast<double>(ratio.at<float>(r, t - 1));
            gains.at<double>(r, t) = sum;
            from.at<short>(r, t) = origin[static_cast<std::size_t>(t)];
            best[static_cast<std::size_t>(t)] = reached[static_cast<std::size_t>(t)] + sum;
        }
    }
    Border border{std::vector<int>(static_cast<std::size_t>(rows)),
                  std::vector<double>(static_cast<std::size_t>(rows))};
    auto t = static_cast<int>(std::max_element(best.begin(), best.end()) - best.begin());
    for (int r = rows; r-- > 0;) {
        border.inward[static_cast<std::size_t>(r)] = t;
        border.gain[static_cast<std::size_t>(r)] = gains.at<double>(r, t);
        t = from.at<short>(r, t);
    }
    return border;
}

// A straight line through values, by Tukey's biweight: a loose fibre across the nick takes from its length at
// one depth.
struct StraightLine {
    double middle = 0.0;
    double value = 0.0;  // at the middle
    double slope = 0.0;
    double scatter = 0.0;
    double n = 0.0;
    double spread = 0.0;

    StraightLine(const std::vector<double>& xs, const std::vector<double>& ys) {
        start_by_medians(xs, ys);
        constexpr int rounds = 6;
        constexpr double least_scatter = 0.2;  // of a cell
        for (int round = 0; round < rounds; ++round) {
            std::vector<double> off;
            for (std::size_t i = 0; i < xs.size(); ++i) off.push_back(std::abs(ys[i] - at(xs[i])));
            scatter = std::max(least_scatter, 1.4826 * median(off));
            double sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
            n = 0.0;
            for (std::size_t i = 0; i < xs.size(); ++i) {
                const double z = off[i] / (4.685 * scatter);
                const double weight = z < 1 ? (1 - z * z) * (1 - z * z) : 0.0;
                n += weight;
                sx += weight * xs[i];
                sy += weight * ys[i];
                sxx += weight * xs[i] * xs[i];
                sxy += weight * xs[i] * ys[i];
            }
            middle = sx / n;
            value = sy / n;
            spread = sxx - sx * sx / n;
            slope = (sxy - sx * sy / n) / spread;
        }
    }
    [[nodiscard]] double at(double x) const { return value + slope * (x - middle); }
    // Standard uncertainty of the line there (JCGM 100, H.3).
    [[nodiscard]] double u_of_value_at(double x) const {
        return scatter * std::sqrt(1 / n + (x - middle) * (x - middle) / spread);
    }

  private:
    // Theil 1950, Sen 1968: the median of the slopes between all pairs.
    void start_by_medians(const std::vector<double>& xs, const std::vector<double>& ys) {
        std::vector<double> slopes, values;
        for (std::size_t i = 0; i < xs.size(); ++i)
            for (std::size_t k = i + 1; k < xs.size(); ++k)
                slopes.push_back((ys[k] - ys[i]) / (xs[k] - xs[i]));
        slope = median(std::move(slopes));
        for (std::size_t i = 0; i < xs.size(); ++i) values.push_back(ys[i] - slope * xs[i]);
        value = median(std::move(values));
        middle = 0.0;
    }
};

// The middle row of what was traced beyond a depth.
int middle_of_trace(const Border& border, int depth, int from, int to) {
    int rows = 0, sum = 0;
    for (int r = from; r < to; ++r)
        if (border.inward[static_cast<std::size_t>(r)] > depth) {
            ++rows;
            sum += r;
        }
    return rows > 0 ? sum / rows : (from + to) / 2;
}

// What was traced from one row to another.
struct Traced {
    int from = 0;
    int to = 0;
    int deepest = 0;  // cells
};

// Stretches traced deeper than `skin` cells.
std::vector<Traced> traces_beyond(const Border& border, int from, int to, int skin) {
    std::vector<Traced> traces;
    for (int r = from; r < to; ++r) {
        Traced traced{r, r, 0};
        for (; traced.to < to && border.inward[static_cast<std::size_t>(traced.to)] > skin; ++traced.to)
            traced.deepest = std::max(traced.deepest, border.inward[static_cast<std::size_t>(traced.to)]);
        if (traced.deepest > 0) traces.push_back(traced);
        r = traced.to;
    }
    return traces;
}

// Where the edge line is a little off, or a shadow passes for bench, one long trace would join a nick to all
// of the edge beside it: there only what is deeper than the rest of it counts, unless nothing is.
std::vector<Traced> traces_of(const Border& border, double cell_mm) {
    constexpr double off_mm = 0.4, long_mm = 20.0;
    const int skin = static_cast<int>(off_mm / cell_mm);
    std::vector<Traced> traces;
    for (const Traced& traced : traces_beyond(border, 0, static_cast<int>(border.inward.size()), skin)) {
        std::vector<Traced> within;
        if ((traced.to - traced.from) * cell_mm > long_mm) {
            const std::vector<double> depths(border.inward.begin() + traced.from,
                                             border.inward.begin() + traced.to);
            within = traces_beyond(border, traced.from, traced.to, static_cast<int>(median(depths)) + skin);
        }
        if (within.empty()) within.push_back(traced);
        traces.insert(traces.end(), within.begin(), within.end());
    }
    return traces;
}

// How deep the weave itself is traced along an edge: where the floats of its yarns end at the edge, grooves
// come again every few millimetres, alike, and pass for shaded bench. 0 where traces are few.
double weave_depth(const std::vector<Traced>& traces, double edge_mm) {
    constexpr double most_apart_mm = 25.0;
    constexpr std::size_t least = 6;
    if (traces.size() < least || most_apart_mm * static_cast<double>(traces.size()) < edge_mm) return 0.0;
    std::vector<double> depths;
    for (const Traced& traced : traces) depths.push_back(traced.deepest);
    constexpr double most = 0.75;
    return quantile(depths, most);
}

// How deep what is no plain webbing leads on from the deepest of what was traced.
int mark_from_deepest(const cv::Mat& ratio, const Border& border, const Traced& traced) {
    int from = traced.to, to = traced.from;
    for (int r = traced.from; r < traced.to; ++r)
        if (border.inward[static_cast<std::size_t>(r)] == traced.deepest) {
            from = std::min(from, r);
            to = r + 1;
        }
    return mark_leads_to(ratio, from, to, traced.deepest - 1);
}

// Whether much of what was traced is glare, in which webbing and bench are both white.
bool in_glare(const WebSide& side, const Border& border, int from, int to) {
    constexpr double white = 0.9;
    int all = 0, glaring = 0;
    for (int r = from; r < to; ++r)
        for (int i = 0; i < border.inward[static_cast<std::size_t>(r)]; ++i) {
            const cv::Vec3d light = side.light(r, i);
            ++all;
            glaring += std::min({light[0], light[1], light[2]}) > white ? 1 : 0;
        }
    return 3 * glaring > all;
}

enum class Plainness { none, doubtful, plain };

// Whether it is bench that shows there, from the mouth on: thread of the bench's colour has webbing between
// it and the edge. Where the mouth alone looks as much like the one as like the other, it may be a cut.
Plainness bench_shows(const WebCells& cells, const cv::Mat& ratio, const Border& border,
                      const Traced& traced) {
    double gain = 0.0, area = 0.0, mouth_gain = 0.0, mouth_area = 0.0;
    const int mouth = static_cast<int>(1.0 / cells.cell_mm);
    for (int r = traced.from; r < traced.to; ++r) {
        gain += border.gain[static_cast<std::size_t>(r)];
        area += border.inward[static_cast<std::size_t>(r)];
        for (int i = 0; i < std::min(mouth, border.inward[static_cast<std::size_t>(r)]); ++i) {
            mouth_gain += static_cast<double>(ratio.at<float>(r, i));
            mouth_area += 1.0;
        }
    }
    // The last of a cut is finer than a cell: it goes on beyond what was traced.
    constexpr double least_traced_mm = 0.5, least_gain = 15.0, plain = 1.0;
    if (traced.deepest * cells.cell_mm < least_traced_mm || gain < least_gain || gain < plain * area ||
        mouth_gain < -plain * mouth_area)
        return Plainness::none;
    return mouth_gain < plain * mouth_area ? Plainness::doubtful : Plainness::plain;
}

// The depth down to which a nick is open by a cell or more; empty where less than two depths beyond tell that
// it is not.
std::optional<double> last_open(const std::vector<double>& depths, const std::vector<double>& lengths) {
    constexpr double open = 1.0;
    constexpr std::ptrdiff_t beyond = 2;
    const auto last = std::find_if(lengths.rbegin(), lengths.rend(), [](double l) { return l >= open; });
    if (last == lengths.rend() || last - lengths.rbegin() < beyond) return std::nullopt;
    return depths[static_cast<std::size_t>(lengths.rend() - last) - 1];
}

// From the length at each depth the straight line through them: depth where it comes to nothing, length at
// none.
std::optional<WebNick> nick_between(const WebCells& cells, const WebSide& side, const cv::Mat& ratio,
                                    const Border& border, double sign, const CutSides& sides,
                                    const Traced& traced) {
    const auto [from, to, seen] = traced;
    // From within the blur at the edge to near the point, and on from there while the line through them has
    // the sides a little apart.
    constexpr double near_point = 0.85, least_length = 2.0;
    constexpr int beside_cells = 8;
    std::vector<double> depths, lengths, middles, faces;
    const auto look = [&](int d, int middle) {
        const auto opening = opening_at(side, d, from, to, middle, sides.face_mm / cells.cell_mm);
        // Farther open than the trace and as much again: there the edge itself lies elsewhere.
        if (!opening || opening->to - opening->from > 2 * (to - from) + beside_cells) return;
        depths.push_back(d + 0.5);
        lengths.push_back(opening->to - opening->from);
        middles.push_back(0.5 * (opening->to + opening->from));
        faces.push_back(opening->face);
    };
    const int near = std::max(4, static_cast<int>(near_point * seen));
    for (int d = std::min(1, seen - 1); d < near; ++d) look(d, middle_of_trace(border, d, from, to));
    constexpr std::size_t least_depths = 3;
    if (depths.size() < least_depths) return std::nullopt;
    StraightLine line(depths, lengths), course(depths, middles);
    for (int d = near; d < ratio.cols && line.slope < 0 && line.at(d + 0.5) > least_length; ++d) {
        look(d, static_cast<int>(std::floor(course.at(d + 0.5))));
        line = StraightLine(depths, lengths);
        course = StraightLine(depths, middles);
    }
    if (line.at(0.0) < 1.0) return std::nullopt;
    const double length = line.at(0.0), meeting = line.slope < -1e-6 ? -length / line.slope : seen;
    const double seen_cells = depths.back() + 0.5;
    const double most_beyond_mm = std::min(2.5, 0.5 * seen_cells * cells.cell_mm);
    Wedge wedge{course.at(0.0) - length / 2, course.at(0.0) + length / 2, 0.0, 0.0};
    wedge.depth =
        std::clamp(meeting, seen_cells - 0.5 / cells.cell_mm, seen_cells + most_beyond_mm / cells.cell_mm);
    wedge.point_row = course.at(wedge.depth);
    // A rib of the weave spans several depths, which err alike.
    constexpr double rib_mm = 1.0;
    const double alike = std::sqrt(std::max(1.0, rib_mm / cells.cell_mm));
    double closes_u = line.slope < -1e-6 ? alike * line.u_of_value_at(meeting) / -line.slope : seen,
           length_u = alike * line.u_of_value_at(0.0);
    const int looked_at = std::min(ratio.cols, static_cast<int>(1.5 * wedge.depth + 1.0 / cells.cell_mm));
    const double blur_cells = sides.blur_mm / cells.cell_mm, face_cells = sides.face_mm / cells.cell_mm;
    constexpr double full_say = 1.0, hidden_say = 0.25;
    const auto fitted = fit_wedge(side, wedge, blur_cells, looked_at, face_cells, full_say);
    if (fitted) {
        const Wedge by_lengths = wedge;
        wedge = fitted->wedge;
        // The blur makes neighbours err alike along the webbing too. Sides that are not straight make the
        // line through the lengths and the wedge close at different depths, either as likely.
        const double alike_both_ways = alike * std::sqrt(2.0);
        closes_u = std::hypot(alike_both_ways * fitted->depth_u, (wedge.depth - by_lengths.depth) / 2);
        length_u = std::hypot(alike_both_ways * fitted->length_u,
                              (wedge.to - wedge.from - by_lengths.to + by_lengths.from) / 2);
        // Its point may be hidden, or not, either as likely: half-way, with a rectangle over both.
        if (const auto hidden = fit_wedge(side, wedge, blur_cells, looked_at, face_cells, hidden_say)) {
            const double deeper = hidden->wedge.depth - wedge.depth;
            wedge.depth += deeper / 2;
            wedge.point_row += (hidden->wedge.point_row - wedge.point_row) / 2;
            closes_u = std::hypot(closes_u, deeper / std::sqrt(12.0));
        }
    }
    const double narrowing = (wedge.to - wedge.from) / wedge.depth;
    // Pale torn ends line a cut for somewhat less than that. What leads on farther is the cut or is not, and
    // it closes at any depth between as likely.
    constexpr double torn_mm = 1.0;
    if (const double on = mark_from_deepest(ratio, border, traced) - wedge.depth;
        on * cells.cell_mm > torn_mm) {
        wedge.depth += on / 2;
        closes_u = std::hypot(closes_u, on / std::sqrt(12.0));
    }
    // Where bench is last seen, and told from webbing beyond, the cut closes about as soon as a wedge does
    // that is open there by less than a cell: pale torn ends, which look like bench in part, make its sides
    // lead on farther. Either is as likely.
    if (const auto last = last_open(depths, lengths)) {
        const double sooner = wedge.depth - (*last + 0.5 + 1 / narrowing);
        if (sooner > 0) {
            wedge.depth -= sooner / 2;
            closes_u = std::hypot(closes_u, sooner / std::sqrt(12.0));
        }
    }
    // Where each side lies in its blur, and what may be the face of one or the shadow beside it.
    const double sides_u = std::hypot(std::sqrt(2.0) * sides.place_u_mm / cells.cell_mm,
                                      median(std::move(faces)) / std::sqrt(12.0));

    WebNick nick;
    nick.side = sign;
    nick.depth_mm = wedge.depth * cells.cell_mm;
    // The last of it is narrower than a cell; whether its sides stay straight there is not seen.
    const double point_mm = std::min(most_beyond_mm, cells.cell_mm / narrowing) / std::sqrt(12.0);
    // Broken yarn ends stand in the point and pale its rim.
    constexpr double ragged_u_mm = 0.15;
    nick.depth_u_mm = std::hypot(std::hypot(closes_u, sides_u / narrowing) * cells.cell_mm,
                                 std::hypot(point_mm, ragged_u_mm));
    nick.from_row = cells.strip_row(wedge.from - 0.5);
    nick.to_row = cells.strip_row(wedge.to - 0.5);
    nick.length_u_mm = std::hypot(length_u, sides_u) * cells.cell_mm;
    nick.deepest_row = cells.strip_row(wedge.point_row - 0.5);
    return nick;
}

}  // namespace

NickSearch find_nick(const WebCells& cells, const CutSides& sides) {
    NickSearch search;
    const int deepest = static_cast<int>(0.9 * cells.across / 2);
    constexpr double least_depth_mm = 0.8;
    std::vector<WebNick> nicks;
    for (const double sign : {-1.0, 1.0}) {
        const WebSide side(cells, sign);
        if (!can_tell(cells, side)) {
            search.can_tell = false;
            continue;
        }
        const cv::Mat ratio = bench_against_web(cells, side, deepest);
        const Border border = likeliest_border(ratio);
        const int rows = static_cast<int>(border.inward.size());
        const auto traces = traces_of(border, cells.cell_mm);
        constexpr double deeper_than_weave_mm = 0.4;
        const double weave = weave_depth(traces, rows * cells.cell_mm) + deeper_than_weave_mm / cells.cell_mm;
        for (const Traced& traced : traces) {
            const Plainness plainness = bench_shows(cells, ratio, border, traced);
            if (plainness == Plainness::none) continue;
            std::optional<WebNick> nick;
            if (plainness == Plainness::plain && traced.deepest > weave)
                nick = nick_between(cells, side, ratio, border, sign, sides, traced);
            // What may as well be no nick is none that was told, nor is what runs along most of the edge:
            // there the edge itself lies elsewhere, or a shadow does.
            if (nick && nick->depth_mm < least_depth_mm) continue;
            if (nick && 2 * nick->depth_u_mm < nick->depth_mm &&
                !in_glare(side, border, traced.from, traced.to) &&
                2 * (nick->to_row - nick->from_row) < cells.strip_row(rows))
                nicks.push_back(*nick);
            else
                search.can_tell = false;
        }
    }
    if (nicks.empty()) return search;
    search.others = static_cast<int>(nicks.size()) - 1;
    search.deepest = *std::max_element(nicks.begin(), nicks.end(), [](const WebNick& a, const WebNick& b) {
        return a.depth_mm < b.depth_mm;
    });
    return search;
}

}  // namespace frayhold::gauge
