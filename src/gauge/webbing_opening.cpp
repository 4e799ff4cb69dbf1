// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_opening.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

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
        bench_ = shade * lit;
        bench_covariance_ = bench.covariance() + shade_scatter * shade_scatter * (lit * lit.t());
    }

    // Whether webbing and bench, even in shadow, are so unlike that a cell of one is not taken for the other.
    [[nodiscard]] bool tells() const {
        const cv::Vec3d off = web_ - bench_;
        constexpr double plain = 2.5;
        return std::min(off.dot(bench_covariance_.inv() * off), off.dot(web_covariance_.inv() * off)) >
               plain * plain;
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
};

}  // namespace

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
