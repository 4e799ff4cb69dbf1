// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_opening.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core.hpp>
#include <vector>

namespace frayhold::gauge {
namespace {

// What share of a cell is bench, where it is neither all webbing nor all bench. Light of both adds up; the
// webbing's scatters as it does beside the nick at the same distance from the edge, the bench's as it does
// outside the edge, and may be dimmed by the shadow of the cut's own sides. The likeliest share.
class BenchShare {
  public:
    BenchShare(const WebSide& side, int depth, int from, int to) {
        constexpr int clear_of_nick = 4, beside = 20, clear_of_edge = 3;
        Scatter web, bench;
        for (int r = std::max(0, from - beside); r < std::min(side.rows(), to + beside); ++r) {
            if (r < from - clear_of_nick || r >= to + clear_of_nick) web.add(side.light(r, depth));
            for (int i = -side.margin(); i < -clear_of_edge; ++i) bench.add(side.light(r, i));
        }
        constexpr double shade = 0.8, shade_scatter = 0.3;
        web_ = web.mean();
        web_covariance_ = web.covariance();
        face_ = shade * web_;
        face_covariance_ = web_covariance_ + shade_scatter * shade_scatter * (web_ * web_.t());
        const cv::Vec3d lit = bench.mean();
        shade_apart_ = apart_in_any_shade(lit, bench.covariance());
        bench_ = shade * lit;
        bench_covariance_ = bench.covariance() + shade_scatter * shade_scatter * (lit * lit.t());
    }

    // Whether webbing and bench, even in shadow, are so unlike that a cell of one is not taken for the other.
    [[nodiscard]] bool tells() const {
        constexpr double plain = 2.5;
        return apart() > plain;
    }

    // In standard deviations of single cells. A normal distribution of shades reaches down to no light at
    // all, which no bench in a cut does: black webbing is told from it by the darkest shade there is.
    [[nodiscard]] double apart() const {
        const cv::Vec3d off = web_ - bench_;
        return std::max(shade_apart_, std::sqrt(std::min(off.dot(bench_covariance_.inv() * off),
                                                         off.dot(web_covariance_.inv() * off))));
    }

    // beside_face: the cell may show the face of the cut, which may be in shadow.
    [[nodiscard]] double of(const cv::Vec3d& light, bool beside_face) const {
        const cv::Vec3d& web = beside_face ? face_ : web_;
        const cv::Matx33d& web_covariance = beside_face ? face_covariance_ : web_covariance_;
        constexpr int steps = 20;
        double best = 0.0, least = 1e300;
        for (int i = 0; i <= steps; ++i) {
            const double share = static_cast<double>(i) / steps;
            const cv::Vec3d off = light - (1 - share) * web - share * bench_;
            const cv::Matx33d covariance =
                (1 - share) * (1 - share) * web_covariance + share * share * bench_covariance_;
            const double cost = off.dot(covariance.inv() * off);
            if (cost < least) {
                least = cost;
                best = share;
            }
        }
        return best;
    }

  private:
    // How far the webbing is from the bench in whatever shade comes closest to it.
    [[nodiscard]] double apart_in_any_shade(const cv::Vec3d& lit, const cv::Matx33d& lit_covariance) const {
        // Deep between the sides of a cut the bench still sees some of the sky.
        constexpr double darkest = 0.4, lightest = 1.1, step = 0.05;
        double least = 1e300;
        for (double shade = darkest; shade < lightest + step / 2; shade += step) {
            const cv::Vec3d off = web_ - shade * lit;
            least = std::min(least, off.dot((web_covariance_ + shade * shade * lit_covariance).inv() * off));
        }
        return std::sqrt(least);
    }

    class Scatter {
      public:
        void add(const cv::Vec3d& v) {
            sum_ += v;
            products_ += v * v.t();
            n_ += 1.0;
        }
        [[nodiscard]] cv::Vec3d mean() const { return sum_ / std::max(1.0, n_); }
        [[nodiscard]] cv::Matx33d covariance() const {
            // The sensor's noise and 8-bit steps.
            constexpr double floor = 1e-5;
            return products_ * (1.0 / std::max(1.0, n_)) - mean() * mean().t() + floor * cv::Matx33d::eye();
        }

      private:
        cv::Vec3d sum_;
        cv::Matx33d products_ = cv::Matx33d::zeros();
        double n_ = 0.0;
    };

    cv::Vec3d web_, face_, bench_;
    cv::Matx33d web_covariance_, face_covariance_, bench_covariance_;
    double shade_apart_ = 0.0;
};

double normal_up_to(double z) {
    return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

// What share of a cell a blurred wedge covers.
double covered(const Wedge& wedge, double row, double depth, double blur_cells) {
    // Of the blur inward at five places; along the webbing in full.
    constexpr std::array<double, 5> places{-1.6, -0.8, 0.0, 0.8, 1.6},
        weights{0.110, 0.236, 0.308, 0.236, 0.110};
    double sum = 0.0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        const double open = 1 - (depth + places[i] * blur_cells) / wedge.depth;
        if (open <= 0) continue;
        const double from = wedge.point_row + (wedge.from - wedge.point_row) * open,
                     to = wedge.point_row + (wedge.to - wedge.point_row) * open;
        sum += weights[i] * (normal_up_to((to - row) / blur_cells) - normal_up_to((from - row) / blur_cells));
    }
    return sum;
}

struct SharedCell {
    double row = 0.0;  // of its middle
    double depth = 0.0;
    double share = 0.0;
    double trust = 1.0;  // less where webbing, or the face of the cut, would look much the same
};

// Shares of bench in and about a wedge. What even the webbing well beside it seems to have is taken off.
std::vector<SharedCell> shares_about(const WebSide& side, const Wedge& wedge, int deepest,
                                     double face_cells) {
    constexpr int about = 6, clear = 5, beside_rows = 20;
    constexpr double near_side = 2.0, differ = 0.5, plain = 6.0;
    const int from = static_cast<int>(std::floor(std::min(wedge.from, wedge.point_row))),
              to = static_cast<int>(std::ceil(std::max(wedge.to, wedge.point_row)));
    std::vector<SharedCell> cells;
    // The edge's own blur is left out.
    for (int d = 1; d < deepest; ++d) {
        const BenchShare share(side, d, from, to);
        if (!share.tells()) continue;
        // Where a stripe is much like the bench, the shares are those of its shading.
        const double apart = share.apart(), plainness = apart * apart / (apart * apart + plain * plain);
        double seeming = 0.0, n = 0.0;
        for (int r = std::max(0, from - beside_rows); r < std::min(side.rows(), to + beside_rows); r += 2) {
            if (r >= from - clear && r < to + clear) continue;
            seeming += share.of(side.light(r, d), false);
            n += 1.0;
        }
        if (n > 0) seeming /= n;
        const double open = std::max(0.0, 1 - (d + 0.5) / wedge.depth),
                     facing = face_cells > 0 ? wedge.point_row + (wedge.from - wedge.point_row) * open
                                             : wedge.point_row + (wedge.to - wedge.point_row) * open;
        for (int r = std::max(0, from - about); r < std::min(side.rows(), to + about); ++r) {
            const double beyond = face_cells > 0 ? r + 0.5 - facing : facing - r - 0.5;
            const bool by_face = std::abs(face_cells) > 0.5 && beyond < std::abs(face_cells) + near_side &&
                                 beyond > -near_side;
            const cv::Vec3d light = side.light(r, d);
            const double bare = share.of(light, false), beside = by_face ? share.of(light, true) : bare;
            const double of = 0.5 * (bare + beside);
            cells.push_back({r + 0.5, d + 0.5, std::max(0.0, of - seeming) / (1 - std::min(seeming, 0.5)),
                             plainness * std::max(0.0, 1 - std::abs(bare - beside) / differ)});
        }
    }
    return cells;
}

}  // namespace

std::optional<FittedWedge> fit_wedge(const WebSide& side, const Wedge& start, double blur_cells, int deepest,
                                     double face_cells, double say_of_less) {
    const auto cells = shares_about(side, start, deepest, face_cells);
    constexpr std::size_t least_cells = 40;
    if (cells.size() < least_cells || start.depth < 2 || start.to - start.from < 1) return std::nullopt;
    constexpr double a_cell = 0.29;  // of a uniform one
    const double blur = std::hypot(blur_cells, a_cell);
    const auto wedge_of = [](const cv::Vec4d& p) { return Wedge{p[0], p[1], p[2], p[3]}; };
    constexpr double usual_misfit = 0.15;
    const auto say_of = [&](double off) { return off < 0 ? say_of_less : 1.0; };
    const auto weight_of = [&](double off) {
        return say_of(off) / (1 + off * off / (usual_misfit * usual_misfit));
    };
    const auto misfit = [&](const cv::Vec4d& p) {
        double sum = 0.0;
        for (const SharedCell& cell : cells) {
            const double off = cell.share - covered(wedge_of(p), cell.row, cell.depth, blur);
            sum += cell.trust * say_of(off) * std::log1p(off * off / (usual_misfit * usual_misfit));
        }
        return sum;
    };
    // Levenberg 1944, Marquardt 1963; Cauchy's weights.
    cv::Vec4d at(start.from, start.to, start.point_row, start.depth);
    double cost = misfit(at), damping = 1e-2;
    cv::Matx44d normal;
    double squares = 0.0, weights = 0.0;
    const auto build = [&] {
        constexpr double step = 0.05;
        normal = cv::Matx44d::zeros();
        cv::Vec4d right;
        squares = weights = 0.0;
        for (const SharedCell& cell : cells) {
            const double here = covered(wedge_of(at), cell.row, cell.depth, blur), off = cell.share - here;
            cv::Vec4d slope;
            for (int k = 0; k < 4; ++k) {
                cv::Vec4d moved = at;
                moved[k] += step;
                slope[k] = (covered(wedge_of(moved), cell.row, cell.depth, blur) - here) / step;
            }
            const double weight = cell.trust * weight_of(off);
            normal += weight * slope * slope.t();
            right += weight * off * slope;
            squares += weight * off * off;
            weights += weight;
        }
        return right;
    };
    constexpr int rounds = 25;
    for (int round = 0; round < rounds; ++round) {
        const cv::Vec4d right = build();
        bool better = false;
        for (int tries = 0; tries < 6 && !better; ++tries) {
            cv::Matx44d damped = normal;
            for (int k = 0; k < 4; ++k) damped(k, k) += damping * normal(k, k) + 1e-9;
            const cv::Vec4d move = damped.solve(right, cv::DECOMP_CHOLESKY), next = at + move;
            const double then = next[3] > 1 ? misfit(next) : cost;
            better = then < cost;
            if (!better) {
                damping *= 5;
                continue;
            }
            const bool done = cv::norm(move) < 0.01;
            at = next;
            cost = then;
            damping /= 5;
            if (done) round = rounds;
        }
        if (!better) break;
    }
    build();
    const Wedge wedge = wedge_of(at);
    const bool runs_off = wedge.depth > deepest || wedge.to - wedge.from < 1 ||
                          wedge.depth < start.depth / 2 ||
                          wedge.to - wedge.from > 2 * (start.to - start.from);
    if (runs_off || !(std::abs(cv::determinant(cv::Mat(normal))) > 1e-12)) return std::nullopt;
    const cv::Matx44d covariance = normal.inv() * (squares / std::max(1.0, weights - 4));
    return FittedWedge{wedge, std::sqrt(covariance(3, 3)),
                       std::sqrt(std::max(0.0, covariance(0, 0) + covariance(1, 1) - 2 * covariance(0, 1)))};
}

std::optional<Opening> opening_at(const WebSide& side, int depth, int from, int to, int middle,
                                  double face_cells) {
    const BenchShare share(side, depth, from, to);
    if (!share.tells()) return std::nullopt;
    const int rows = side.rows();
    const auto reach = [&](int step, bool face) {
        const auto bench = [&](int r) {
            return share.of(side.light(std::clamp(r, 0, rows - 1), depth), face);
        };
        constexpr int fibre = 2, border = 2;
        int end = middle;
        for (int r = middle + step; r >= 0 && r < rows && std::abs(r - end) <= fibre; r += step)
            if (bench(r) >= 0.5) end = r;
        double length = 0.0;
        for (int r = middle + (step > 0 ? step : 0); std::abs(r - middle) <= std::abs(end - middle) + 1;
             r += step)
            length += std::abs(r - middle) + border <= std::abs(end - middle) ? 1.0 : bench(r);
        return length;
    };
    double back = reach(-1, false), on = reach(1, false), face = 0.0;
    double& facing = face_cells > 0 ? back : on;
    if (std::abs(face_cells) > 0.5) {
        face = std::clamp(facing - reach(face_cells > 0 ? -1 : 1, true), 0.0, std::abs(face_cells));
        facing -= face;
    }
    return Opening{middle + 1 - back, middle + 1 + on, face};
}

}  // namespace frayhold::gauge
