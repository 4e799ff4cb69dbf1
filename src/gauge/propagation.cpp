// SPDX-License-Identifier: Apache-2.0
#include "gauge/propagation.h"

#include <cmath>
#include <utility>

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

double power_of(UnitOf unit) { return unit == UnitOf::square_millimetre ? 2.0 : unit == UnitOf::millimetre ? 1.0 : 0.0; }

}  // namespace

Propagation::Propagation(const ViewFit& fit, double card_size_u_rel, std::string camera_source)
    : view_(fit.view),
      root_(cholesky(fit.covariance)),
      card_size_u_rel_(card_size_u_rel),
      camera_source_(std::move(camera_source)) {}

View Propagation::drawn(const View::Parameters& standard_normal) const {
    return view_.with(view_.parameters() + root_ * standard_normal);
}

Reading Propagation::reading(Measurand measurand, const std::function<double(const View&)>& value,
                             std::vector<BudgetLine> own_lines, std::vector<cv::Point2d> outline_px) const {
    const double nominal = value(view_);
    // Each column of L is one standard deviation of one independent cause; a third of it keeps to the linear part.
    View::Parameters share;
    constexpr double part = 1.0 / 3.0;
    for (int i = 0; i < n; ++i) {
        View::Parameters step;
        for (int j = 0; j < n; ++j) step[j] = part * root_(j, i);
        share[i] = (value(view_.with(view_.parameters() + step)) - value(view_.with(view_.parameters() - step))) / (2 * part);
    }
    double edges2 = 0.0;
    for (int i = View::rotation; i < n; ++i) edges2 += share[i] * share[i];

    const double power = power_of(unit_of(measurand));
    std::vector<BudgetLine> budget;
    budget.push_back({"card size as printed", std::abs(power * nominal) * card_size_u_rel_});
    budget.push_back({"finding the card's edges", std::sqrt(edges2)});
    budget.push_back({"focal length, " + (camera_source_.empty() ? std::string("unknown: from the card's perspective") : camera_source_),
                      std::abs(share[View::log_focal])});
    budget.push_back({"lens distortion", std::abs(share[View::lens_k1])});
    for (auto& line : own_lines) budget.push_back(std::move(line));
    return combine(measurand, nominal, std::move(budget), std::move(outline_px));
}

}  // namespace frayhold::gauge
