// SPDX-License-Identifier: Apache-2.0
#include "gauge/limb_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <opencv2/core.hpp>
#include <utility>

#include "gauge/quantile.h"
#include "gauge/wide.h"

namespace frayhold::gauge {
namespace {

using Coefficients = cv::Matx<double, 3, LimbFit::functions>;  // one row a channel

// Of functions given one a column. By Gram and Schmidt, each gone over twice, which is enough (Giraud, Langou
// & Rozloznik 2005); what hardly differs from those before it does no harm, but is left out.
LimbFit::Basis basis_of(const cv::Mat& functions) {
    const auto samples = static_cast<std::size_t>(functions.rows);
    constexpr double least = 1e-9;  // of a function's own square, that is its own
    LimbFit::Basis basis(samples);
    std::vector<double> left(samples);
    std::size_t found = 0;
    const auto square = [&] { return std::inner_product(left.begin(), left.end(), left.begin(), 0.0); };
    for (int column = 0; column < functions.cols; ++column) {
        for (std::size_t i = 0; i < samples; ++i) left[i] = functions.at<double>(static_cast<int>(i), column);
        const double whole = square();
        for (int round = 0; round < 2; ++round)
            for (std::size_t k = 0; k < found; ++k) {
                double share = 0.0;
                for (std::size_t i = 0; i < samples; ++i) share += basis[i][k] * left[i];
                for (std::size_t i = 0; i < samples; ++i) left[i] -= share * basis[i][k];
            }
        const double own = square();
        if (!(own > least * whole)) continue;
        for (std::size_t i = 0; i < samples; ++i) basis[i][found] = left[i] / std::sqrt(own);
        ++found;
    }
    return basis;
}

cv::Matx<double, LimbFit::functions, LimbFit::functions> products(const LimbFit::Basis& one,
                                                                  const LimbFit::Basis& other) {
    cv::Matx<double, LimbFit::functions, LimbFit::functions> sums;
    for (std::size_t i = 0; i < one.size(); ++i)
        for (int a = 0; a < LimbFit::functions; ++a)
            for (int b = 0; b < LimbFit::functions; ++b)
                sums(a, b) += one[i][static_cast<std::size_t>(a)] * other[i][static_cast<std::size_t>(b)];
    return sums;
}

// What each of three lines of samples has of each function.
FRAYHOLD_WIDE Coefficients coefficients(const double* first, const double* second, const double* third,
                                        const std::array<double, LimbFit::functions>* basis,
                                        std::size_t samples) {
    constexpr std::size_t count = LimbFit::functions;
    std::array<double, count> a{}, b{}, c{};
    for (std::size_t i = 0; i < samples; ++i)
        for (std::size_t k = 0; k < count; ++k) {
            a[k] += basis[i][k] * first[i];
            b[k] += basis[i][k] * second[i];
            c[k] += basis[i][k] * third[i];
        }
    Coefficients out;
    for (std::size_t k = 0; k < count; ++k) {
        const int column = static_cast<int>(k);
        out(0, column) = a[k];
        out(1, column) = b[k];
        out(2, column) = c[k];
    }
    return out;
}

// What a line of samples has beyond what the functions tell of it.
FRAYHOLD_WIDE void take_residuals(const double* values, const std::array<double, LimbFit::functions>* basis,
                                  std::size_t samples, double* residuals) {
    constexpr std::size_t count = LimbFit::functions;
    std::array<double, count> share{};
    for (std::size_t i = 0; i < samples; ++i)
        for (std::size_t k = 0; k < count; ++k) share[k] += basis[i][k] * values[i];
    for (std::size_t i = 0; i < samples; ++i) {
        double told = 0.0;
        for (std::size_t k = 0; k < count; ++k) told += basis[i][k] * share[k];
        residuals[i] = values[i] - told;
    }
}

// The residuals to one side of an edge.
struct Side {
    double weight = 0.0;  // samples
    cv::Matx33d scatter;
    cv::Vec3d least = cv::Vec3d::all(1e9), most = cv::Vec3d::all(-1e9);  // of what the model tells there

    void add(const cv::Vec3d& value, const cv::Vec3d& residual, double share) {
        weight += share;
        for (int a = 0; a < 3; ++a) {
            least[a] = std::min(least[a], value[a] - residual[a]);
            most[a] = std::max(most[a], value[a] - residual[a]);
            for (int b = 0; b <= a; ++b) scatter(a, b) += share * residual[a] * residual[b];
        }
    }
    // Weight x log determinant of the covariance. Neither shading nor a shadow runs quite as the model's
    // curves do: its own error is taken for a hundredth of what they change by.
    [[nodiscard]] double spread(double floor) const {
        constexpr double model_error = 0.01;
        cv::Matx33d covariance = scatter * (1 / weight);
        for (int a = 0; a < 3; ++a) {
            const double error = model_error * (most[a] - least[a]);
            covariance(a, a) += floor + error * error;
            for (int b = 0; b < a; ++b) covariance(b, a) = covariance(a, b);
        }
        return weight * std::log(std::max(cv::determinant(covariance), 1e-300));
    }
};

// A fraction of one 8-bit step, squared: below it, a residual says nothing.
constexpr double step_floor = 4e-7;

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
    cv::Mat functions = cv::Mat::zeros(static_cast<int>(outward_mm.size()), LimbFit::functions, CV_64F);
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

// A line as the sums want it: channel by channel, and the channels' scalar products.
struct LimbFit::Channels {
    std::array<std::vector<double>, 3> values;
    cv::Matx33d products;

    explicit Channels(const std::vector<cv::Vec3d>& line) {
        for (std::size_t channel = 0; channel < values.size(); ++channel)
            for (const cv::Vec3d& sample : line) values[channel].push_back(sample[static_cast<int>(channel)]);
        for (int a = 0; a < 3; ++a)
            for (int b = 0; b < 3; ++b) {
                const auto &one = values[static_cast<std::size_t>(a)],
                           &other = values[static_cast<std::size_t>(b)];
                products(a, b) = std::inner_product(one.begin(), one.end(), other.begin(), 0.0);
            }
    }
};

// Of the residuals' covariance, up to a constant. With P and Q the projections onto the functions of
// luminance and colour, residuals of channels a and b have the product a'b - a'Pb - a'Qb + a'PQb, and where
// both are colours a'b - a'Qb: no residual need be made.
double LimbFit::log_determinant(const Channels& line, const Model& model) {
    const auto& v = line.values;
    const auto samples = v[0].size();
    const Coefficients p = coefficients(v[0].data(), v[1].data(), v[2].data(), model.luminance.data(),
                                        samples),
                       q = coefficients(v[0].data(), v[1].data(), v[2].data(), model.colour.data(), samples);
    cv::Matx33d scatter = line.products;
    scatter(0, 0) -= p.row(0).dot(p.row(0));
    const auto across = p.row(0) * model.luminance_by_colour;
    for (int a = 1; a < 3; ++a) {
        scatter(0, a) += across.dot(q.row(a)) - p.row(0).dot(p.row(a)) - q.row(0).dot(q.row(a));
        scatter(a, 0) = scatter(0, a);
        for (int b = 1; b < 3; ++b) scatter(a, b) -= q.row(a).dot(q.row(b));
    }
    for (int i = 0; i < 3; ++i) scatter(i, i) += step_floor * static_cast<double>(samples);
    return std::log(std::max(cv::determinant(scatter), 1e-300));
}

// As log_determinant, to the same constant, but each side of the place has a covariance of its own.
double LimbFit::cost_by_side(const Channels& line, std::size_t place) const {
    const auto samples = static_cast<std::size_t>(samples_);
    const Model& model = models_[place];
    std::vector<double> residuals(3 * samples);
    for (std::size_t channel = 0; channel < 3; ++channel)
        take_residuals(line.values[channel].data(), (channel == 0 ? model.luminance : model.colour).data(),
                       samples, residuals.data() + channel * samples);
    Side inside, outside;
    for (std::size_t i = 0; i < samples; ++i) {
        const cv::Vec3d value(line.values[0][i], line.values[1][i], line.values[2][i]),
            residual(residuals[i], residuals[samples + i], residuals[2 * samples + i]);
        // The sample that the place runs through is parted, so that the cost changes smoothly with it.
        const double share =
            std::clamp((outward_mm(static_cast<int>(i)) - places_mm_[place]) / spacing_mm_ + 0.5, 0.0, 1.0);
        if (share < 1) inside.add(value, residual, 1 - share);
        if (share > 0) outside.add(value, residual, share);
    }
    return (inside.spread(step_floor) + outside.spread(step_floor)) / samples_ + 3 * std::log(samples_);
}

LimbFit::LimbFit(double spacing_mm, double blur_mm, double pixel_mm, double radius_mm, Window window)
    : spacing_mm_(spacing_mm),
      blur_mm_(blur_mm),
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
    models_.resize(places_mm_.size());
    cv::parallel_for_({0, static_cast<int>(places_mm_.size())}, [&](const cv::Range& range) {
        for (auto i = static_cast<std::size_t>(range.start); i < static_cast<std::size_t>(range.end); ++i) {
            Model& model = models_[i];
            model.luminance =
                basis_of(model_functions(outward, places_mm_[i], luminance_kernel, step_mm, radius_mm));
            model.colour =
                basis_of(model_functions(outward, places_mm_[i], colour_kernel, step_mm, radius_mm));
            model.luminance_by_colour = products(model.luminance, model.colour);
        }
    });
    cv::Mat smooth(samples_, functions, CV_64F);
    for (int i = 0; i < samples_; ++i)
        for (int p = 0; p < functions; ++p)
            smooth.at<double>(i, p) = std::pow(outward_mm(i) / window.outside_mm, p);
    smooth_.luminance = basis_of(smooth);
    smooth_.colour = smooth_.luminance;
    smooth_.luminance_by_colour = products(smooth_.luminance, smooth_.colour);
}

std::vector<double> LimbFit::costs(const std::vector<cv::Vec3d>& line) const {
    const Channels channels(line);
    std::vector<double> cost;
    cost.reserve(models_.size());
    for (const Model& model : models_) cost.push_back(log_determinant(channels, model));
    return cost;
}

std::optional<LimbFit::Edge> LimbFit::edge(const std::vector<cv::Vec3d>& line) const {
    const Channels channels(line);
    // Every other place, then those beside the best: the cost changes over the blur's width, no faster.
    std::vector<double> cost(models_.size(), std::numeric_limits<double>::infinity()), tried;
    std::size_t best = 0;
    for (std::size_t i = 0; i < cost.size(); i += 2) {
        cost[i] = cost_by_side(channels, i);
        tried.push_back(cost[i]);
        if (cost[i] < cost[best]) best = i;
    }
    if (best == 0 || best + 1 == cost.size()) return std::nullopt;
    for (const std::size_t beside : {best - 1, best + 1}) {
        cost[beside] = cost_by_side(channels, beside);
        if (cost[beside] < cost[best]) best = beside;
    }
    if (std::abs(places_mm_[best]) > reach_mm - blur_mm_) return std::nullopt;
    // A curve with as many freedoms but no edge must do clearly worse.
    if (log_determinant(channels, smooth_) - cost[best] < 0.3) return std::nullopt;
    const double before = cost[best - 1], here = cost[best], after = cost[best + 1];
    const double bend = before - 2 * here + after;
    const double shift = bend > 0 ? 0.5 * (before - after) / bend : 0.0;
    return Edge{places_mm_[best] + shift * (places_mm_[1] - places_mm_[0]), median(std::move(tried)) - here};
}

}  // namespace frayhold::gauge
