// SPDX-License-Identifier: Apache-2.0
#include "gauge/propagation.h"

#include <cmath>
#include <limits>
#include <utility>

#include "language/later.h"

namespace frayhold::gauge {
namespace {

constexpr int n = View::parameter_count;

// Lower triangular root of a symmetric positive definite matrix.
cv::Matx<double, n, n> cholesky(const cv::Matx<double, n, n>& c) {
    auto root = cv::Matx<double, n, n>::zeros();
    for (int j = 0; j < n; ++j)
        for (int i = j; i < n; ++i) {
            double rest = c(i, j);
            for (int k = 0; k < j; ++k) rest -= root(i, k) * root(j, k);
            root(i, j) = i == j ? std::sqrt(std::max(rest, 0.0)) : root(j, j) > 0 ? rest / root(j, j) : 0.0;
        }
    return root;
}

// The gradient over the parameters from what each column of the root L does: L' g = share. Zero along a
// parameter that is known exactly.
std::vector<double> gradient(const cv::Matx<double, n, n>& root, const View::Parameters& share) {
    std::vector<double> g(n, 0.0);
    for (int i = n - 1; i >= 0; --i) {
        double rest = share[i];
        for (int j = i + 1; j < n; ++j) rest -= root(j, i) * g[static_cast<std::size_t>(j)];
        if (root(i, i) > 0) g[static_cast<std::size_t>(i)] = rest / root(i, i);
    }
    return g;
}

double power_of(UnitOf unit) {
    return unit == UnitOf::square_millimetre ? 2.0 : unit == UnitOf::millimetre ? 1.0 : 0.0;
}

}  // namespace

Propagation::Propagation(const ViewFit& fit, Scale scale, std::string camera_source, int draws)
    : view_(fit.view),
      root_(cholesky(fit.covariance)),
      scale_(scale),
      camera_source_(std::move(camera_source)),
      draws_(draws) {}

View Propagation::drawn(const View::Parameters& standard_normal) const {
    return view_.with(view_.parameters() + root_ * standard_normal);
}

// The view drawn whole, so that no derivative is taken; each own line from its normal distribution, or
// Student's where its degrees of freedom are few (JCGM 101, 6.4.7 and 6.4.9).
Spread Propagation::spread(const std::function<double(const View&)>& value, double power,
                           const std::vector<BudgetLine>& own_lines) const {
    constexpr std::uint64_t seed = 1;
    return propagate(
        [&](Random& random) {
            std::normal_distribution<double> normal;
            // A draw so far out that it does not see the bench at all is no draw of this picture.
            double y = std::numeric_limits<double>::quiet_NaN();
            constexpr int most_tries = 20;
            for (int tries = 0; tries < most_tries && !std::isfinite(y); ++tries) {
                View::Parameters z;
                for (int i = 0; i < n; ++i) z[i] = normal(random);
                y = value(drawn(z));
            }
            y *= std::pow(1 + scale_.u_rel * normal(random), power);
            for (const BudgetLine& line : own_lines) {
                if (line.u == 0.0) continue;
                y += line.u * (std::isfinite(line.dof) && line.dof >= 1.0
                                   ? std::student_t_distribution<double>(line.dof)(random)
                                   : normal(random));
            }
            return y;
        },
        draws_, seed);
}

Reading Propagation::reading(Measurand measurand, const std::function<double(const View&)>& value,
                             std::vector<BudgetLine> own_lines, std::vector<cv::Point2d> outline_px) const {
    const double nominal = value(view_);
    // Each column of L is one standard deviation of one independent cause; a third of it keeps to the linear
    // part.
    View::Parameters share;
    constexpr double part = 1.0 / 3.0;
    for (int i = 0; i < n; ++i) {
        View::Parameters step;
        for (int j = 0; j < n; ++j) step[j] = part * root_(j, i);
        share[i] =
            (value(view_.with(view_.parameters() + step)) - value(view_.with(view_.parameters() - step))) /
            (2 * part);
    }
    double edges2 = 0.0;
    for (int i = View::rotation; i < n; ++i) edges2 += share[i] * share[i];

    const double power = power_of(unit_of(measurand));
    std::vector<BudgetLine> budget;
    budget.push_back({scale_.source, std::abs(power * nominal) * scale_.u_rel});
    budget.push_back({tr_later("finding the card's edges"), std::sqrt(edges2)});
    budget.push_back({std::string(tr_later("focal length")) + ": " +
                          (camera_source_.empty() ? tr_later("unknown, taken from the card's perspective")
                                                  : camera_source_),
                      std::abs(share[View::log_focal])});
    budget.push_back({tr_later("lens distortion"), std::abs(share[View::lens_k1])});
    std::optional<Spread> drawn_spread;
    if (draws_ > 0) drawn_spread = spread(value, power, own_lines);
    for (auto& line : own_lines) budget.push_back(std::move(line));
    Reading reading = combine(measurand, nominal, std::move(budget), std::move(outline_px));
    reading.monte_carlo = drawn_spread;
    reading.view_gradient = gradient(root_, share);
    return reading;
}

}  // namespace frayhold::gauge
