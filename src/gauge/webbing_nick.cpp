// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_nick.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

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

// Cells of one side, counted inward from its edge; negative ones lie on the bench.
class Side {
  public:
    Side(const WebCells& cells, double side) : cells_(cells), side_(side) {}
    [[nodiscard]] int column(int inward) const {
        return side_ < 0 ? cells_.margin + inward : cells_.colour.cols - 1 - cells_.margin - inward;
    }
    [[nodiscard]] cv::Vec3d bare(int row, int inward) const {
        return cells_.bare_colour.at<cv::Vec3f>(row, column(inward));
    }
    [[nodiscard]] cv::Vec3d light(int row, int inward) const {
        return cells_.light.at<cv::Vec3f>(row, column(inward));
    }
    [[nodiscard]] cv::Vec3d unusual(int row, int inward) const {
        return cells_.colour.at<cv::Vec3f>(row, column(inward));
    }

  private:
    const WebCells& cells_;
    double side_;
};

// The bench beside one edge, the skin next to the edge left out. Its lightness may also be that of a shadow.
Look bench_look(const WebCells& cells, const Side& side) {
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

// How much likelier each cell is bench than webbing: rows x inward.
cv::Mat bench_against_web(const WebCells& cells, const Side& side, int deepest) {
    const Look bench = bench_look(cells, side), web({0, 0, 0}, cells.web_covariance);
    constexpr double most = 3.0;
    cv::Mat ratio(cells.colour.rows, deepest, CV_32F);
    for (int r = 0; r < ratio.rows; ++r)
        for (int i = 0; i < deepest; ++i)
            ratio.at<float>(r, i) = static_cast<float>(std::clamp(
                bench.log_density(side.bare(r, i)) - web.log_density(side.unusual(r, i)), -most, most));
    return ratio;
}

// Whether a cell of bench just outside the edge would be told from webbing.
bool can_tell(const WebCells& cells, const Side& side) {
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

// Length of the nick, in cells, at one depth: cells well within the traced border count whole, those about it
// by the share of bench in their light, between what the nick and the webbing beside it show in that column.
double length_at(const Side& side, const Border& border, int depth, int from, int to, int rows) {
    constexpr int doubtful = 2, beside_from = 4, beside_to = 16;
    const auto beyond = [&](int r) {
        return r >= from && r < to && border.inward[static_cast<std::size_t>(r)] > depth;
    };
    const auto all = [&](int r, bool value) {
        for (int k = r - doubtful; k <= r + doubtful; ++k)
            if (beyond(k) != value) return false;
        return true;
    };
    cv::Vec3d bench, web;
    double bench_n = 0.0, web_n = 0.0;
    double whole = 0.0, traced = 0.0;
    for (int r = std::max(0, from - beside_to); r < std::min(rows, to + beside_to); ++r) {
        traced += beyond(r) ? 1.0 : 0.0;
        if (beyond(r) && beyond(r - 1) && beyond(r + 1)) {
            bench += side.light(r, depth);
            bench_n += 1.0;
        }
        if (r < from - beside_from || r >= to + beside_from) {
            web += side.light(r, depth);
            web_n += 1.0;
        }
        whole += all(r, true) ? 1.0 : 0.0;
    }
    if (bench_n == 0 || web_n == 0) return traced;
    bench /= bench_n;
    web /= web_n;
    const cv::Vec3d step = bench - web;
    double partly = 0.0;
    for (int r = std::max(0, from - doubtful); r < std::min(rows, to + doubtful); ++r)
        if (!all(r, true) && !all(r, false))
            partly += std::clamp((side.light(r, depth) - web).dot(step) / step.dot(step), -0.3, 1.3);
    return whole + partly;
}

// From the length at each depth the straight line through them: depth where it comes to nothing, length at
// none.
std::optional<WebNick> nick_between(const WebCells& cells, const Side& side, const cv::Mat& ratio,
                                    const Border& border, double sign, int from, int to) {
    int seen = 0;
    double gain = 0.0, area = 0.0, mouth_gain = 0.0, mouth_area = 0.0;
    const int mouth = static_cast<int>(1.0 / cells.cell_mm);
    for (int r = from; r < to; ++r) {
        gain += border.gain[static_cast<std::size_t>(r)];
        area += border.inward[static_cast<std::size_t>(r)];
        for (int i = 0; i < std::min(mouth, border.inward[static_cast<std::size_t>(r)]); ++i) {
            mouth_gain += static_cast<double>(ratio.at<float>(r, i));
            mouth_area += 1.0;
        }
        seen = std::max(seen, border.inward[static_cast<std::size_t>(r)]);
    }
    // Bench must be plain in it, from the mouth on: thread of the bench's colour has webbing between it and
    // the edge.
    constexpr double least_depth_mm = 0.8, least_gain = 25.0, plain = 1.0;
    if (seen * cells.cell_mm < least_depth_mm || gain < least_gain) return std::nullopt;
    if (gain < plain * area || mouth_gain < plain * mouth_area) return std::nullopt;

    // Between the blur at the edge and that at the point.
    const int first = std::min(1, seen - 1), last = std::max(first + 2, static_cast<int>(0.8 * seen));
    double n = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0, syy = 0.0;
    for (int d = first; d < last; ++d) {
        const double x = d + 0.5, y = length_at(side, border, d, from, to, cells.colour.rows);
        n += 1.0;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
        syy += y * y;
    }
    const double spread = sxx - sx * sx / n, slope = (sxy - sx * sy / n) / spread,
                 length = (sy - slope * sx) / n;
    const double residual =
        std::sqrt(std::max(0.0, syy - sy * sy / n - slope * slope * spread) / std::max(1.0, n - 2));
    const double meeting = slope < -1e-6 ? -length / slope : seen;

    // Variance of where a fitted straight line meets zero (JCGM 100, H.3, to first order).
    const double middle = sx / n;
    const double meeting_u =
        slope < -1e-6
            ? residual / -slope * std::sqrt(1 / n + (meeting - middle) * (meeting - middle) / spread)
            : seen;

    WebNick nick;
    nick.side = sign;
    const double seen_mm = seen * cells.cell_mm, most_beyond_mm = std::min(2.5, 0.5 * seen_mm);
    nick.depth_mm = std::clamp(meeting * cells.cell_mm, seen_mm - 0.5, seen_mm + most_beyond_mm);
    // The last of it is narrower than a cell; whether its sides stay straight there is not seen.
    const double point_mm = cells.cell_mm * std::max(1.0, -1 / std::min(slope, -1e-6)) / std::sqrt(3.0);
    nick.depth_u_mm = std::hypot(meeting_u * cells.cell_mm, (nick.depth_mm - seen_mm) / std::sqrt(12.0),
                                 std::min(point_mm, most_beyond_mm));
    // Where it leaves the edge line: the traced ends, moved so that they are as far apart as the straight
    // line says.
    const double stretch = 0.5 * (length - (to - from));
    nick.from_row = cells.strip_row(from - 0.5 - stretch);
    nick.to_row = cells.strip_row(to - 0.5 + stretch);
    double deep_rows = 0.0, deep_n = 0.0;
    for (int r = from; r < to; ++r)
        if (border.inward[static_cast<std::size_t>(r)] >= 0.85 * seen) {
            deep_rows += r;
            deep_n += 1.0;
        }
    nick.deepest_row = cells.strip_row(deep_rows / deep_n);
    nick.length_u_mm =
        std::hypot(std::abs(2 * stretch) / std::sqrt(12.0), residual, 1.0 / std::sqrt(6.0)) * cells.cell_mm;
    return nick;
}

}  // namespace

NickSearch find_nick(const WebCells& cells) {
    NickSearch search;
    const int deepest = static_cast<int>(0.9 * cells.across / 2);
    std::vector<WebNick> nicks;
    for (const double sign : {-1.0, 1.0}) {
        const Side side(cells, sign);
        if (!can_tell(cells, side)) {
            search.can_tell = false;
            continue;
        }
        const cv::Mat ratio = bench_against_web(cells, side, deepest);
        const Border border = likeliest_border(ratio);
        const int rows = static_cast<int>(border.inward.size());
        for (int r = 0; r < rows; ++r) {
            if (border.inward[static_cast<std::size_t>(r)] == 0) continue;
            int to = r;
            while (to < rows && border.inward[static_cast<std::size_t>(to)] > 0) ++to;
            if (const auto nick = nick_between(cells, side, ratio, border, sign, r, to))
                nicks.push_back(*nick);
            r = to;
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
