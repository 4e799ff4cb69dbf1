// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_fit.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core/utility.hpp>
#include <optional>

#include "gauge/card_design.h"
#include "gauge/edge_sighting.h"
#include "gauge/quantile.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

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
            const auto sighting =
                sight_edge(bgr, at, across, std::min(reach_px, 0.5 * clearance_px), least_step);
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
};

Candidate fit_edges(const cv::Mat& bgr, const ViewFitter& fitter, View view) {
    EdgeSearch edges;
    // Wide first, since the first corners are good to a few pixels only; then narrow, with faint steps
    // dropped.
    constexpr double least_scale_px = 0.02;
    double least_step = 0.02;
    for (const double reach_px : {5.0, 3.0, 2.5}) {
        edges = search_edges(bgr, view, reach_px, least_step);
        if (edges.seen.size() < 40) break;
        least_step = 0.4 * median(edges.steps);
        view = fitter.refined(view, edges.seen, least_scale_px);
    }
    const double s = fitter.scale_px(view, edges.seen, least_scale_px);
    return {view, std::move(edges), s};
}

}  // namespace

Result<ViewFit> fit_card(const cv::Mat& bgr, const std::vector<MarkerSighting>& markers,
                         const CameraPrior& prior) {
    const auto corners = corner_observations(markers);
    if (corners.empty())
        return failed(Fault::input, tr_later("card"), "no reference card is seen",
                      "lay the printed card flat beside the item");
    const ViewFitter fitter(prior);
    const std::vector<View> first = fitter.first_views(corners);
    std::vector<std::optional<Candidate>> candidates(first.size());
    cv::parallel_for_({0, static_cast<int>(first.size())}, [&](const cv::Range& range) {
        for (auto i = static_cast<std::size_t>(range.start); i < static_cast<std::size_t>(range.end); ++i)
            candidates[i] = fit_edges(bgr, fitter, fitter.refined(first[i], corners, 0.5));
    });
    std::optional<Candidate> best;
    for (auto& candidate : candidates) {
        const auto rank = [](const Candidate& c) {
            return c.edges.seen.empty() ? 1e9 : c.scale_px / static_cast<double>(c.edges.seen.size());
        };
        if (!best || rank(*candidate) < rank(*best)) best = std::move(candidate);
    }

    constexpr double least_seen_fraction = 0.25, most_scale_px = 1.5;
    // Neighbouring sightings share pixels, the camera's sharpening and JPEG blocks: about one in three is
    // news.
    constexpr double noise_correlation = 3.0;
    std::optional<ViewFit> fit;
    if (best)
        fit = fitter.concluded(best->view, best->edges.seen, best->edges.looked_for, best->scale_px,
                               noise_correlation);
    if (!fit || fit->seen_fraction < least_seen_fraction || best->scale_px > most_scale_px)
        return failed(Fault::input, tr_later("card"),
                      "a mark like the card's is seen, but not the card's printed edges",
                      "show the whole card, flat, clean and in focus");
    fit->edge_width_px = median(best->edges.widths_px);
    fit->white = median(best->edges.steps);
    return std::move(*fit);
}

bool go_round_clockwise(const std::array<cv::Point2d, 4>& points_px) {
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d a = points_px[(i + 1) % 4] - points_px[i],
                          b = points_px[(i + 2) % 4] - points_px[(i + 1) % 4];
        if (a.cross(b) <= 0) return false;
    }
    return true;
}

Result<ViewFit> fit_corners(const std::array<cv::Point2d, 4>& corners_px, const CameraPrior& prior,
                            double pick_u_px) {
    const auto wrong = [] {
        return failed(Fault::input, tr_later("corners"), "the four points are not a card seen from above",
                      "give them from the card's own top left, clockwise");
    };
    if (!go_round_clockwise(corners_px)) return wrong();
    std::vector<Observation> corners;
    for (std::size_t i = 0; i < 4; ++i) {
        corners.push_back({id1_corners_mm[i], corners_px[i], {1, 0}});
        corners.push_back({id1_corners_mm[i], corners_px[i], {0, 1}});
    }
    const ViewFitter fitter(prior);
    const auto best = fitter.from_points(corners, pick_u_px);
    if (!best) return wrong();
    ViewFit fit = fitter.concluded(*best, corners, static_cast<int>(corners.size()), pick_u_px, 1.0);
    // Over all corners, however far off.
    double sum = 0.0;
    for (const auto& o : corners) sum += std::pow(residual_px(*best, o), 2);
    fit.rms_px = std::sqrt(sum / static_cast<double>(corners.size()));
    constexpr double most_rms = 6.0;
    if (fit.rms_px > most_rms * pick_u_px) return wrong();
    fit.edge_points = 4;
    fit.seen_fraction = 1.0;
    return fit;
}

}  // namespace frayhold::gauge
