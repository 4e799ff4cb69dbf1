// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_fit.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/calib3d.hpp>

#include "gauge/card_design.h"
#include "gauge/edge_sighting.h"

namespace frayhold::gauge {
namespace {

constexpr int n = View::parameter_count;
using Square = cv::Matx<double, n, n>;
using Vector = cv::Vec<double, n>;

// A measured picture point and the direction across its edge: the residual is the distance along `across`.
struct Observation {
    cv::Point2d bench_mm;
    cv::Point2d picture_px;
    cv::Point2d across;
};

double residual(const View& view, const Observation& o) {
    return (view.picture_from_bench(o.bench_mm) - o.picture_px).dot(o.across);
}

// Central differences of the residual; the steps move a picture point by about a hundredth of a pixel. The stepped
// views are made once and serve every observation.
class Gradient {
  public:
    explicit Gradient(const View& view) {
        forward_.reserve(n);
        back_.reserve(n);
        for (int i = 0; i < n; ++i) {
            auto forward = view.parameters(), back = view.parameters();
            forward[i] += steps[static_cast<std::size_t>(i)];
            back[i] -= steps[static_cast<std::size_t>(i)];
            forward_.push_back(view.with(forward));
            back_.push_back(view.with(back));
        }
    }

    [[nodiscard]] Vector of(const Observation& o) const {
        Vector gradient;
        for (int i = 0; i < n; ++i) {
            const auto k = static_cast<std::size_t>(i);
            gradient[i] = (residual(forward_[k], o) - residual(back_[k], o)) / (2 * steps[k]);
        }
        return gradient;
    }

  private:
    static constexpr std::array<double, n> steps{1e-5, 1e-4, 1e-5, 1e-5, 1e-5, 1e-3, 1e-3, 1e-3};
    std::vector<View> forward_;
    std::vector<View> back_;
};

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

// Tukey's biweight: sightings that follow something else than the card lose all say.
double weight_of(double r, double scale) {
    const double x = r / (4.685 * scale);
    return std::abs(x) >= 1 ? 0.0 : (1 - x * x) * (1 - x * x);
}

struct Normal {
    Square matrix = Square::zeros();
    Vector vector = Vector::zeros();
    double cost = 0.0;
};

class Fitter {
  public:
    explicit Fitter(const CameraPrior& prior) : prior_(prior) {}

    // Levenberg-Marquardt on robustly weighted residuals. `scale` is the residuals' standard deviation in px,
    // re-estimated from the median absolute deviation, but never below `least_scale`.
    View refine(View view, const std::vector<Observation>& seen, double least_scale) const {
        double damping = 1e-3;
        for (int round = 0; round < 30; ++round) {
            const double s = scale(view, seen, least_scale);
            const Normal normal = normal_equations(view, seen, s);
            bool better = false;
            for (int attempt = 0; attempt < 6 && !better; ++attempt) {
                Square damped = normal.matrix;
                for (int i = 0; i < n; ++i) damped(i, i) *= 1 + damping;
                Vector step;
                if (!cv::solve(damped, normal.vector, step, cv::DECOMP_CHOLESKY)) break;
                const View tried = view.with(view.parameters() - step);
                const double cost = total_cost(tried, seen, s);
                if (cost < normal.cost) {
                    const double gain = normal.cost - cost;
                    view = tried;
                    damping = std::max(1e-9, damping * 0.1);
                    if (gain < 1e-7 * (1 + cost)) return view;
                    better = true;
                } else {
                    damping *= 10;
                }
            }
            if (!better) return view;
        }
        return view;
    }

    double scale(const View& view, const std::vector<Observation>& seen, double least) const {
        std::vector<double> sizes;
        sizes.reserve(seen.size());
        for (const auto& o : seen) sizes.push_back(std::abs(residual(view, o)));
        return std::max(least, 1.4826 * median(std::move(sizes)));
    }

    Normal normal_equations(const View& view, const std::vector<Observation>& seen, double s) const {
        Normal normal;
        const Gradient gradient(view);
        for (const auto& o : seen) {
            const double r = residual(view, o);
            const double w = weight_of(r, s) / (s * s);
            if (w == 0) continue;
            const Vector g = gradient.of(o);
            normal.matrix += w * (g * g.t());
            normal.vector += (w * r) * g;
        }
        add_prior(normal, view);
        normal.cost = total_cost(view, seen, s);
        return normal;
    }

    // Biweight loss, so that steps are judged by the same measure that weighs them.
    double total_cost(const View& view, const std::vector<Observation>& seen, double s) const {
        double cost = 0.0;
        const double c2 = 4.685 * 4.685;
        for (const auto& o : seen) {
            const double x = residual(view, o) / (4.685 * s);
            const double inside = std::max(0.0, 1 - x * x);
            cost += c2 / 3 * (1 - inside * inside * inside);
        }
        const auto& p = view.parameters();
        const double df = (p[View::log_focal] - prior_.log_focal) / prior_.log_focal_u;
        const double dk = (p[View::lens_k1] - prior_.k1) / prior_.k1_u;
        return cost + df * df + dk * dk;
    }

  private:
    void add_prior(Normal& normal, const View& view) const {
        const auto add = [&](int index, double mean, double u) {
            normal.matrix(index, index) += 1 / (u * u);
            normal.vector[index] += (view.parameters()[index] - mean) / (u * u);
        };
        add(View::log_focal, prior_.log_focal, prior_.log_focal_u);
        add(View::lens_k1, prior_.k1, prior_.k1_u);
    }

    CameraPrior prior_;
};

std::vector<Observation> corner_observations(const std::vector<MarkerSighting>& markers) {
    std::vector<Observation> seen;
    for (const MarkerSighting& sighting : markers) {
        for (const CardMarker& marker : card_markers()) {
            if (marker.id != sighting.id) continue;
            const double s = marker_side_mm;
            const std::array<cv::Point2d, 4> offsets{cv::Point2d(0, 0), {s, 0}, {s, s}, {0, s}};
            for (std::size_t i = 0; i < 4; ++i) {
                const cv::Point2d bench = marker.top_left_mm + offsets[i];
                seen.push_back({bench, sighting.corners_px[i], {1, 0}});
                seen.push_back({bench, sighting.corners_px[i], {0, 1}});
            }
        }
    }
    return seen;
}

std::vector<View> first_views(const std::vector<Observation>& corners, const CameraPrior& prior) {
    std::vector<cv::Point3d> object;
    std::vector<cv::Point2d> image;
    const double f = std::exp(prior.log_focal);
    for (std::size_t i = 0; i < corners.size(); i += 2) {
        object.emplace_back(corners[i].bench_mm.x, corners[i].bench_mm.y, 0.0);
        image.push_back(corners[i].picture_px);
    }
    const cv::Matx33d intrinsics(f, 0, prior.centre_px.x, 0, f, prior.centre_px.y, 0, 0, 1);
    std::vector<cv::Mat> rotations, translations;
    cv::solvePnPGeneric(object, image, intrinsics, cv::noArray(), rotations, translations, false, cv::SOLVEPNP_IPPE);
    std::vector<View> views;
    for (std::size_t i = 0; i < rotations.size(); ++i) {
        const cv::Vec3d r(rotations[i].ptr<double>()), t(translations[i].ptr<double>());
        if (t[2] <= 0) continue;
        views.emplace_back(View::Parameters(prior.log_focal, prior.k1, r[0], r[1], r[2], t[0], t[1], t[2]),
                           prior.centre_px, prior.k2);
    }
    return views;
}

struct EdgeSearch {
    std::vector<Observation> seen;
    std::vector<double> widths_px;  // of full-step edges
    std::vector<double> steps;
    int looked_for = 0;
};

// Looks for every printed edge where `view` expects it. `reach_px` is narrowed where another edge is near.
EdgeSearch search_edges(const cv::Mat& bgr, const View& view, double reach_px, double least_step) {
    constexpr double spacing_mm = 0.7;
    EdgeSearch search;
    for (const CardEdge& edge : card_edges()) {
        const double length = cv::norm(edge.to_mm - edge.from_mm);
        const cv::Point2d along = (edge.to_mm - edge.from_mm) / length;
        const cv::Point2d to_light(along.y, -along.x);
        const int count = std::max(2, static_cast<int>(length / spacing_mm));
        for (int i = 0; i <= count; ++i) {
            ++search.looked_for;
            const cv::Point2d bench = edge.from_mm + along * (length * i / count);
            const cv::Point2d at = view.picture_from_bench(bench);
            // Across the edge as the picture shows it: perpendicular to the edge's own image.
            const cv::Point2d tangent = view.picture_from_bench(bench + along * 0.2) - at;
            const cv::Point2d lightward = view.picture_from_bench(bench + to_light * 0.2) - at;
            cv::Point2d across(-tangent.y, tangent.x);
            across *= (across.dot(lightward) < 0 ? -1.0 : 1.0) / cv::norm(across);
            const double clearance_px = std::abs(lightward.dot(across)) * edge.clearance_mm / 0.2;
            const auto sighting = sight_edge(bgr, at, across, std::min(reach_px, 0.5 * clearance_px), least_step);
            if (!sighting) continue;
            search.seen.push_back({bench, at + across * sighting->offset_px, across});
            search.steps.push_back(sighting->step);
            if (edge.full_step) search.widths_px.push_back(sighting->width_px);
        }
    }
    return search;
}

struct Candidate {
    View view;
    EdgeSearch edges;
    double scale_px = 0.0;
    double cost = 0.0;
};

Candidate fit_edges(const cv::Mat& bgr, const Fitter& fitter, View view) {
    EdgeSearch edges;
    // Wide first, since the first corners are good to a few pixels only; then narrow, with faint steps dropped.
    constexpr double least_scale_px = 0.02;
    double least_step = 0.02;
    for (const double reach_px : {5.0, 3.0, 2.5}) {
        edges = search_edges(bgr, view, reach_px, least_step);
        if (edges.seen.size() < 40) break;
        least_step = 0.4 * median(edges.steps);
        view = fitter.refine(view, edges.seen, least_scale_px);
    }
    const double s = fitter.scale(view, edges.seen, least_scale_px);
    return {view, std::move(edges), s, fitter.total_cost(view, edges.seen, s)};
}

}  // namespace

CameraPrior camera_prior(const Camera& camera, cv::Size picture) {
    CameraPrior prior;
    prior.centre_px = camera.centre_px.value_or(cv::Point2d((picture.width - 1) / 2.0, (picture.height - 1) / 2.0));
    if (camera.focal_px) {
        prior.log_focal = std::log(*camera.focal_px);
        prior.log_focal_u = std::max(camera.focal_u_rel, 1e-4);
    } else {
        constexpr double usual_focal_35mm = 33.0, film_diagonal_mm = 43.27;
        prior.log_focal = std::log(usual_focal_35mm / film_diagonal_mm * std::hypot(picture.width, picture.height));
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

Result<ViewFit> fit_card(const cv::Mat& bgr, const std::vector<MarkerSighting>& markers, const CameraPrior& prior) {
    const auto corners = corner_observations(markers);
    if (corners.empty())
        return failed(Fault::input, "card", "no reference card is seen", "lay the printed card flat beside the item");
    const Fitter fitter(prior);
    std::optional<Candidate> best;
    for (const View& first : first_views(corners, prior)) {
        Candidate candidate = fit_edges(bgr, fitter, fitter.refine(first, corners, 0.5));
        const auto rank = [](const Candidate& c) {
            return c.edges.seen.empty() ? 1e9 : c.scale_px / static_cast<double>(c.edges.seen.size());
        };
        if (!best || rank(candidate) < rank(*best)) best = std::move(candidate);
    }

    constexpr double least_seen_fraction = 0.25, most_scale_px = 1.5;
    std::vector<double> accepted;
    if (best)
        for (const auto& o : best->edges.seen) {
            const double r = residual(best->view, o);
            if (weight_of(r, best->scale_px) > 0) accepted.push_back(r);
        }
    const double fraction = best ? static_cast<double>(accepted.size()) / best->edges.looked_for : 0.0;
    if (fraction < least_seen_fraction || best->scale_px > most_scale_px)
        return failed(Fault::input, "card", "a mark like the card's is seen, but not the card's printed edges",
                      "show the whole card, flat, clean and in focus");

    // Neighbouring sightings share pixels, the camera's sharpening and JPEG blocks: about one in three is news.
    constexpr double noise_correlation = 3.0;
    const double s = best->scale_px * std::sqrt(noise_correlation);
    const Normal normal = fitter.normal_equations(best->view, best->edges.seen, s);
    ViewFit fit{best->view, normal.matrix.inv(cv::DECOMP_CHOLESKY)};
    double sum = 0.0;
    for (const double r : accepted) sum += r * r;
    fit.rms_px = std::sqrt(sum / static_cast<double>(accepted.size()));
    fit.edge_points = static_cast<int>(accepted.size());
    fit.seen_fraction = fraction;
    fit.edge_width_px = median(best->edges.widths_px);
    fit.white = median(best->edges.steps);
    return fit;
}

Result<ViewFit> fit_corners(const std::array<cv::Point2d, 4>& corners_px, const CameraPrior& prior, double pick_u_px) {
    const auto wrong = [] {
        return failed(Fault::input, "corners", "the four points are not a card seen from above",
                      "give them from the card's own top left, clockwise");
    };
    // Clockwise with y downward: every turn to the right.
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d a = corners_px[(i + 1) % 4] - corners_px[i], b = corners_px[(i + 2) % 4] - corners_px[(i + 1) % 4];
        if (a.cross(b) <= 0) return wrong();
    }
    const std::array<cv::Point2d, 4> bench{cv::Point2d(0, 0), {id1_width_mm, 0}, {id1_width_mm, id1_height_mm}, {0, id1_height_mm}};
    std::vector<Observation> corners;
    for (std::size_t i = 0; i < 4; ++i) {
        corners.push_back({bench[i], corners_px[i], {1, 0}});
        corners.push_back({bench[i], corners_px[i], {0, 1}});
    }
    const Fitter fitter(prior);
    std::optional<View> best;
    for (const View& first : first_views(corners, prior)) {
        const View view = fitter.refine(first, corners, pick_u_px);
        if (!best || fitter.total_cost(view, corners, pick_u_px) < fitter.total_cost(*best, corners, pick_u_px)) best = view;
    }
    if (!best) return wrong();
    double sum = 0.0;
    for (const auto& o : corners) sum += std::pow(residual(*best, o), 2);
    ViewFit fit{*best, fitter.normal_equations(*best, corners, pick_u_px).matrix.inv(cv::DECOMP_CHOLESKY)};
    fit.rms_px = std::sqrt(sum / static_cast<double>(corners.size()));
    constexpr double most_rms = 6.0;
    if (fit.rms_px > most_rms * pick_u_px) return wrong();
    fit.edge_points = 4;
    fit.seen_fraction = 1.0;
    return fit;
}

}  // namespace frayhold::gauge
