// SPDX-License-Identifier: Apache-2.0
#include "gauge/view_fitter.h"

#include <algorithm>
#include <cmath>
#include <opencv2/calib3d.hpp>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr int n = View::parameter_count;
using Square = cv::Matx<double, n, n>;
using Vector = cv::Vec<double, n>;

constexpr double biweight_reach = 4.685;

double weight_of(double r, double scale) {
    const double x = r / (biweight_reach * scale);
    return std::abs(x) >= 1 ? 0.0 : (1 - x * x) * (1 - x * x);
}

}  // namespace

double residual_px(const View& view, const Observation& o) {
    return (view.picture_from_bench(o.bench_mm) - o.picture_px).dot(o.across);
}

CameraPrior camera_prior(const Camera& camera, cv::Size picture) {
    CameraPrior prior;
    prior.centre_px =
        camera.centre_px.value_or(cv::Point2d((picture.width - 1) / 2.0, (picture.height - 1) / 2.0));
    if (camera.focal_px) {
        prior.log_focal = std::log(*camera.focal_px);
        prior.log_focal_u = std::max(camera.focal_u_rel, 1e-4);
    } else {
        constexpr double usual_focal_35mm = 33.0, film_diagonal_mm = 43.27;
        prior.log_focal =
            std::log(usual_focal_35mm / film_diagonal_mm * std::hypot(picture.width, picture.height));
        prior.log_focal_u = 0.3;
    }
    if (camera.lens) {
        prior.k1 = camera.lens->k1;
        prior.k2 = camera.lens->k2;
        prior.k1_u = 0.002;
    } else {
        prior.k1_u = 0.01;
    }
    return prior;
}

struct ViewFitter::Normal {
    Square matrix = Square::zeros();
    Vector vector = Vector::zeros();
};

ViewFitter::Normal ViewFitter::normal_equations(const View& view, const std::vector<Observation>& seen,
                                                double s) const {
    Normal normal;
    const View::Gradient gradient(view);
    for (const auto& o : seen) {
        const double r = residual_px(view, o);
        const double w = weight_of(r, s) / (s * s);
        if (w == 0) continue;
        const Vector g = gradient.of(o.bench_mm, o.across);
        normal.matrix += w * (g * g.t());
        normal.vector += (w * r) * g;
    }
    const auto add_prior = [&](int index, double mean, double u) {
        normal.matrix(index, index) += 1 / (u * u);
        normal.vector[index] += (view.parameters()[index] - mean) / (u * u);
    };
    add_prior(View::log_focal, prior_.log_focal, prior_.log_focal_u);
    add_prior(View::lens_k1, prior_.k1, prior_.k1_u);
    return normal;
}

View ViewFitter::refined(View view, const std::vector<Observation>& seen, double least_scale_px) const {
    double damping = 1e-3;
    for (int round = 0; round < 30; ++round) {
        const double s = scale_px(view, seen, least_scale_px);
        const double before = cost(view, seen, s);
        const Normal normal = normal_equations(view, seen, s);
        bool better = false;
        for (int attempt = 0; attempt < 6 && !better; ++attempt) {
            Square damped = normal.matrix;
            for (int i = 0; i < n; ++i) damped(i, i) *= 1 + damping;
            Vector step;
            if (!cv::solve(damped, normal.vector, step, cv::DECOMP_CHOLESKY)) break;
            const View tried = view.with(view.parameters() - step);
            const double after = cost(tried, seen, s);
            if (after < before) {
                view = tried;
                damping = std::max(1e-9, damping * 0.1);
                if (before - after < 1e-7 * (1 + after)) return view;
                better = true;
            } else {
                damping *= 10;
            }
        }
        if (!better) return view;
    }
    return view;
}

double ViewFitter::scale_px(const View& view, const std::vector<Observation>& seen, double least_px) const {
    std::vector<double> sizes;
    sizes.reserve(seen.size());
    for (const auto& o : seen) sizes.push_back(std::abs(residual_px(view, o)));
    return std::max(least_px, 1.4826 * median(std::move(sizes)));
}

double ViewFitter::cost(const View& view, const std::vector<Observation>& seen, double s) const {
    double sum = 0.0;
    constexpr double c2 = biweight_reach * biweight_reach;
    for (const auto& o : seen) {
        const double x = residual_px(view, o) / (biweight_reach * s);
        const double inside = std::max(0.0, 1 - x * x);
        sum += c2 / 3 * (1 - inside * inside * inside);
    }
    const auto& p = view.parameters();
    const double df = (p[View::log_focal] - prior_.log_focal) / prior_.log_focal_u;
    const double dk = (p[View::lens_k1] - prior_.k1) / prior_.k1_u;
    return sum + df * df + dk * dk;
}

std::vector<View> ViewFitter::first_views(const std::vector<Observation>& points) const {
    std::vector<cv::Point3d> object;
    std::vector<cv::Point2d> image;
    const double f = std::exp(prior_.log_focal);
    for (std::size_t i = 0; i < points.size(); i += 2) {
        object.emplace_back(points[i].bench_mm.x, points[i].bench_mm.y, 0.0);
        image.push_back(points[i].picture_px);
    }
    const cv::Matx33d intrinsics(f, 0, prior_.centre_px.x, 0, f, prior_.centre_px.y, 0, 0, 1);
    std::vector<cv::Mat> rotations, translations;
    cv::solvePnPGeneric(object, image, intrinsics, cv::noArray(), rotations, translations, false,
                        cv::SOLVEPNP_IPPE);
    std::vector<View> views;
    for (std::size_t i = 0; i < rotations.size(); ++i) {
        const cv::Vec3d r(rotations[i].ptr<double>()), t(translations[i].ptr<double>());
        if (t[2] <= 0) continue;
        views.emplace_back(View::Parameters(prior_.log_focal, prior_.k1, r[0], r[1], r[2], t[0], t[1], t[2]),
                           prior_.centre_px, prior_.k2);
    }
    return views;
}

std::optional<View> ViewFitter::from_points(const std::vector<Observation>& points, double u_px) const {
    std::optional<View> best;
    for (const View& first : first_views(points)) {
        const View view = refined(first, points, u_px);
        if (!best || cost(view, points, u_px) < cost(*best, points, u_px)) best = view;
    }
    return best;
}

ViewFit ViewFitter::concluded(const View& view, const std::vector<Observation>& seen, int looked_for,
                              double s, double noise_correlation) const {
    ViewFit fit{
        view, normal_equations(view, seen, s * std::sqrt(noise_correlation)).matrix.inv(cv::DECOMP_CHOLESKY)};
    double sum = 0.0;
    for (const auto& o : seen) {
        const double r = residual_px(view, o);
        if (weight_of(r, s) == 0) continue;
        sum += r * r;
        ++fit.edge_points;
    }
    fit.rms_px = fit.edge_points ? std::sqrt(sum / fit.edge_points) : 0.0;
    fit.seen_fraction = static_cast<double>(fit.edge_points) / looked_for;
    return fit;
}

}  // namespace frayhold::gauge
