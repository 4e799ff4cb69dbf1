// SPDX-License-Identifier: Apache-2.0
#include "gauge/quality.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <utility>
#include <vector>

#include "gauge/card_design.h"
#include "gauge/edge_sighting.h"
#include "gauge/quantile.h"
#include "language/later.h"

namespace frayhold::gauge {

double edge_width_px(const cv::Mat& bgr, const ReducedPicture& reduced) {
    cv::Mat grey, dx, dy;
    cv::cvtColor(reduced.bgr, grey, cv::COLOR_BGR2GRAY);
    cv::Sobel(grey, dx, CV_16S, 1, 0);
    cv::Sobel(grey, dy, CV_16S, 0, 1);
    struct Place {
        int steepness, x, y;
    };
    std::vector<Place> places;
    constexpr int border = 8, stride = 2;
    constexpr int least_steepness = 60;  // of Sobel's sums: an edge of some 15 grey levels
    for (int y = border; y < grey.rows - border; y += stride)
        for (int x = border; x < grey.cols - border; x += stride) {
            const int steepness = std::abs(dx.at<short>(y, x)) + std::abs(dy.at<short>(y, x));
            if (steepness > least_steepness) places.push_back({steepness, x, y});
        }
    constexpr std::size_t most = 200;
    const std::size_t kept = std::min(most, places.size());
    std::partial_sort(places.begin(), places.begin() + static_cast<std::ptrdiff_t>(kept), places.end(),
                      [](const Place& a, const Place& b) { return a.steepness > b.steepness; });
    std::vector<double> widths;
    for (std::size_t i = 0; i < kept; ++i) {
        cv::Point2d to_light(dx.at<short>(places[i].y, places[i].x), dy.at<short>(places[i].y, places[i].x));
        to_light *= 1 / cv::norm(to_light);
        constexpr double reach_px = 16.0, least_step = 0.01;
        if (const auto s = sight_edge(bgr, reduced.full_px(cv::Point2d(places[i].x, places[i].y)), to_light,
                                      reach_px, least_step))
            widths.push_back(s->width_px);
    }
    return median(std::move(widths));
}

double clipped_share_of_card(const cv::Mat& bgr, const View& view) {
    int clipped = 0, looked_at = 0;
    for (double y = 0.5; y < id1_height_mm; y += 1.0)
        for (double x = 0.5; x < id1_width_mm; x += 1.0) {
            const cv::Point px(view.picture_from_bench({x, y}));
            if (px.x < 0 || px.y < 0 || px.x >= bgr.cols || px.y >= bgr.rows) continue;
            const auto& p = bgr.at<cv::Vec3b>(px);
            ++looked_at;
            constexpr uchar white = 254;
            clipped += p[0] >= white && p[1] >= white && p[2] >= white;
        }
    return looked_at ? static_cast<double>(clipped) / looked_at : 0.0;
}

Quality judge(const cv::Mat& bgr, double width_px, const ViewFit* fit, bool by_rule) {
    constexpr double widest_px = 8.0, widest_mm = 1.0, most_clipped = 0.08, least_seen = 0.45;
    Quality quality;
    quality.sharpness = width_px > 0 ? 1 / width_px : 0.0;
    const double width_mm =
        fit ? width_px * fit->view.mm_per_px(fit->view.middle_mm().value_or(id1_middle_mm)) : 0.0;
    if (width_px == 0 || width_px > widest_px || width_mm > widest_mm)
        quality.reasons.emplace_back(
            tr_later("blurred: hold the camera still, tap to focus on the item, take it again"));
    if (!fit) {
        quality.reasons.emplace_back(
            tr_later("no card found: lay the printed card flat beside the item, all of it in the picture"));
        return quality;
    }
    if (by_rule) {
        quality.usable = quality.reasons.empty();
        return quality;
    }
    quality.clipped_fraction = clipped_share_of_card(bgr, fit->view);
    if (quality.clipped_fraction > most_clipped)
        quality.reasons.emplace_back(
            tr_later("glare on the card: turn away from the lamp or shade it, take it again"));
    const bool cut_off = std::any_of(id1_corners_mm.begin(), id1_corners_mm.end(), [&](cv::Point2d c) {
        const cv::Point2d px = fit->view.picture_from_bench(c);
        return px.x < 0 || px.y < 0 || px.x > bgr.cols - 1 || px.y > bgr.rows - 1;
    });
    if (cut_off)
        quality.reasons.emplace_back(
            tr_later("card cut off by the picture's edge: step back until all of it is in"));
    else if (fit->seen_fraction < least_seen)
        quality.reasons.emplace_back(
            tr_later("most of the card is hidden: lay it beside the item with nothing on it"));
    quality.usable = quality.reasons.empty();
    return quality;
}

}  // namespace frayhold::gauge
