// SPDX-License-Identifier: Apache-2.0
#include "gauge/limb_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <opencv2/core.hpp>
#include <utility>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// Orthonormal functions, one a row, that span the given ones (one a column); by SVD, so that nearly alike
// functions do no harm.
cv::Mat basis_of(const cv::Mat& functions) {
    cv::Mat w, u, vt;
    cv::SVD::compute(functions, w, u, vt, cv::SVD::MODIFY_A);
    int rank = 0;
    while (rank < w.rows && w.at<double>(rank) > 1e-9 * w.at<double>(0)) ++rank;
    cv::Mat basis;
    cv::transpose(u.colRange(0, rank), basis);
    return basis;
}

// What the functions of the basis leave of the values.
void take_out(const cv::Mat& basis, std::vector<double>& values) {
    for (int k = 0; k < basis.rows; ++k) {
        const auto* function = basis.ptr<double>(k);
        double share = 0.0;
        for (std::size_t i = 0; i < values.size(); ++i) share += function[i] * values[i];
        for (std::size_t i = 0; i < values.size(); ++i) values[i] -= share * function[i];
    }
}

// Log determinant of the residuals' covariance, up to a constant.
double log_determinant(const std::vector<cv::Vec3d>& line, const cv::Mat& luminance_basis,
                       const cv::Mat& colour_basis) {
    const auto n = line.size();
    std::array<std::vector<double>, 3> residual;
    for (int channel = 0; channel < 3; ++channel) {
        auto& values = residual[static_cast<std::size_t>(channel)];
        values.reserve(n);
        for (const cv::Vec3d& sample : line) values.push_back(sample[channel]);
        take_out(channel == 0 ? luminance_basis : colour_basis, values);
    }
    cv::Matx33d scatter;
    for (int a = 0; a < 3; ++a)
        for (int b = 0; b < 3; ++b)
            scatter(a, b) = std::inner_product(residual[static_cast<std::size_t>(a)].begin(),
                                               residual[static_cast<std::size_t>(a)].end(),
                                               residual[static_cast<std::size_t>(b)].begin(), 0.0);
    // A fraction of one 8-bit step: below it, a residual says nothing.
    constexpr double floor = 4e-7;
    for (int i = 0; i < 3; ++i) scatter(i, i) += floor * static_cast<double>(n);
    return std::log(std::max(cv::determinant(scatter), 1e-300));
}

// Weights of a Gaussian blur at `step` over +-4 standard deviations; sums to 1.
std::vector<double> blur_kernel(double blur_mm, double step_mm) {
    const int reach = std::max(1, static_cast<int>(std::ceil(4 * blur_mm / step_mm)));
    std::vector<double> kernel;
    double total = 0.0;
    for (int k = -reach; k <= reach; ++k) {
        kernel.push_back(std::exp(-0.5 * std::pow(k * step_mm / std::max(blur_mm, 1e-6), 2)));
        total += kernel.back();
    }
    for (double& k : kernel) k /= total;
    return kernel;
}

// The six functions of the model for an edge at `place_mm`, one a column, at the samples' places.
cv::Mat model_functions(const std::vector<double>& outward_mm, double place_mm,
                        const std::vector<double>& kernel, double step_mm, double radius_mm) {
    cv::Mat functions = cv::Mat::zeros(static_cast<int>(outward_mm.size()), 6, CV_64F);
    const int reach = static_cast<int>(kernel.size() / 2);
    for (int i = 0; i < functions.rows; ++i) {
        auto* f = functions.ptr<double>(i);
        for (int k = -reach; k <= reach; ++k) {
            const double weight = kernel[static_cast<std::size_t>(k + reach)];
            const double outward = outward_mm[static_cast<std::size_t>(i)] + k * step_mm - place_mm;
            if (outward < 0) {
                const double sine = 1 + outward / radius_mm;
                f[0] += weight;
                f[1] += weight * sine;
                f[2] += weight * std::sqrt(std::max(0.0, 1 - sine * sine));
            } else {
                f[3] += weight;
                f[4] += weight * outward;
                f[5] += weight * outward * outward;
            }
        }
    }
    return functions;
}

}  // namespace

LimbFit::LimbFit(double spacing_mm, double blur_mm, double pixel_mm, double radius_mm, Window window)
    : spacing_mm_(spacing_mm),
      inside_samples_(static_cast<int>(std::ceil(window.inside_mm / spacing_mm))),
      samples_(inside_samples_ + 1 + static_cast<int>(std::ceil(window.outside_mm / spacing_mm))) {
    const double step_mm = spacing_mm / 6;
    const auto luminance_kernel = blur_kernel(blur_mm, step_mm);
    const auto colour_kernel = blur_kernel(std::hypot(blur_mm, pixel_mm), step_mm);
    std::vector<double> outward;
    for (int i = 0; i < samples_; ++i) outward.push_back(outward_mm(i));

    const double place_step_mm = 0.35 * spacing_mm;
    for (double place = -reach_mm; place <= reach_mm + 1e-9; place += place_step_mm)
        places_mm_.push_back(place);
    luminance_bases_.resize(places_mm_.size());
    colour_bases_.resize(places_mm_.size());
    cv::parallel_for_({0, static_cast<int>(places_mm_.size())}, [&](const cv::Range& range) {
        for (auto i = static_cast<std::size_t>(range.start); i < static_cast<std::size_t>(range.end); ++i) {
            luminance_bases_[i] =
                basis_of(model_functions(outward, places_mm_[i], luminance_kernel, step_mm, radius_mm));
            colour_bases_[i] =
                basis_of(model_functions(outward, places_mm_[i], colour_kernel, step_mm, radius_mm));
        }
    });
    cv::Mat smooth(samples_, 6, CV_64F);
    for (int i = 0; i < samples_; ++i)
        for (int p = 0; p < 6; ++p) smooth.at<double>(i, p) = std::pow(outward_mm(i) / window.outside_mm, p);
    smooth_basis_ = basis_of(smooth);
}

std::vector<double> LimbFit::costs(const std::vector<cv::Vec3d>& line) const {
    std::vector<double> cost;
    cost.reserve(places_mm_.size());
    for (std::size_t i = 0; i < places_mm_.size(); ++i)
        cost.push_back(log_determinant(line, luminance_bases_[i], colour_bases_[i]));
    return cost;
}

std::optional<LimbFit::Edge> LimbFit::edge(const std::vector<cv::Vec3d>& line) const {
    std::vector<double> cost = costs(line);
    const auto best = static_cast<std::size_t>(std::min_element(cost.begin(), cost.end()) - cost.begin());
    if (best == 0 || best + 1 == cost.size()) return std::nullopt;
    // A curve with as many freedoms but no edge must do clearly worse.
    if (log_determinant(line, smooth_basis_, smooth_basis_) - cost[best] < 0.3) return std::nullopt;
    const double before = cost[best - 1], here = cost[best], after = cost[best + 1];
    const double bend = before - 2 * here + after;
    const double shift = bend > 0 ? 0.5 * (before - after) / bend : 0.0;
    return Edge{places_mm_[best] + shift * (places_mm_[1] - places_mm_[0]), median(std::move(cost)) - here};
}

}  // namespace frayhold::gauge
