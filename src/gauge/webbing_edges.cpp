// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_edges.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <opencv2/core.hpp>

#include "gauge/limb_fit.h"
#include "gauge/quantile.h"
#include "gauge/webbing_borders.h"
#include "gauge/webbing_placing.h"

namespace frayhold::gauge {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// Median distance between the edges where both are seen; empty where that is hardly anywhere.
std::optional<double> usual_width(const std::vector<double>& left, const std::vector<double>& right) {
    std::vector<double> widths;
    for (std::size_t s = 0; s < left.size(); ++s)
        if (!std::isnan(left[s]) && !std::isnan(right[s])) widths.push_back(right[s] - left[s]);
    constexpr std::size_t least = 10;
    if (widths.size() < least) return std::nullopt;
    return median(std::move(widths));
}

// One edge's word on where the middle runs.
struct Vote {
    double x = 0.0;  // -1 to 1 within the window
    double y = 0.0;
    bool agreed = false;  // the other edge says the same
};

cv::Vec3d quadratic_through(const std::vector<Vote>& votes,
                            const std::function<double(const Vote&)>& weight_of) {
    cv::Matx33d normal = cv::Matx33d::eye() * 1e-6;
    cv::Vec3d right;
    for (const Vote& v : votes) {
        const double weight = weight_of(v);
        const cv::Vec3d row(1.0, v.x, v.x * v.x);
        normal += weight * row * row.t();
        right += weight * v.y * row;
    }
    return normal.solve(right, cv::DECOMP_CHOLESKY);
}

// Value at x = 0 of the quadratic through the votes, without those far off it. It starts from the votes on
// which both edges agree: a long fluffed edge may outvote the whole one, but not in agreement with it.
double robust_middle(const std::vector<Vote>& votes) {
    std::vector<double> sizes(votes.size());
    std::transform(votes.begin(), votes.end(), sizes.begin(), [](const Vote& v) { return v.y; });
    const auto agreed = std::count_if(votes.begin(), votes.end(), [](const Vote& v) { return v.agreed; });
    constexpr auto enough = 12;
    cv::Vec3d curve(median(sizes), 0.0, 0.0);
    if (agreed >= enough)
        curve = quadratic_through(votes, [](const Vote& v) { return v.agreed ? 1.0 : 0.0; });
    constexpr int rounds = 4;
    constexpr double least_scale_mm = 0.05;
    for (int round = 0; round < rounds; ++round) {
        const auto off = [&](const Vote& v) {
            return std::abs(v.y - curve[0] - curve[1] * v.x - curve[2] * v.x * v.x);
        };
        std::transform(votes.begin(), votes.end(), sizes.begin(), off);
        const double reach = 4.685 * std::max(1.4826 * median(sizes), least_scale_mm);
        curve = quadratic_through(votes, [&](const Vote& v) {
            const double z = off(v) / reach;
            return z < 1 ? (1 - z * z) * (1 - z * z) : 0.0;
        });
    }
    return curve[0];
}

// Halfway up webbing, where its edges of sight lie, how much less the line of sight carries things aside on
// the bench plane than on its upper side.
double sight_lean_mm(const Strip& strip, const View& view) {
    constexpr double half_thickness_mm = 1.125;
    const double middle = strip.bgr.rows / 2.0;
    const cv::Point2d here = strip.bench_mm(middle, 0.0), across = strip.bench_mm(middle, 1.0) - here;
    const cv::Point3d camera = view.camera_in_bench();
    return half_thickness_mm * (cv::Point2d(camera.x, camera.y) - here).dot(across) / camera.z;
}

struct Straightened {
    std::vector<cv::Point2d> centre_mm;
    double width_mm = 0.0;
};

constexpr double straight_mm = 45.0;   // an edge is followed over this length to either side
constexpr double smoothing_mm = 20.0;  // of the line that the webbing is unrolled along

// The line half-way between edges so far to the left and right of the strip's middle.
Straightened between(const Strip& strip, const StationLight& light, double left_mm, double right_mm) {
    Straightened out{{}, left_mm + right_mm};
    for (const double row : light.row) out.centre_mm.push_back(strip.bench_mm(row, (right_mm - left_mm) / 2));
    return out;
}

std::optional<Straightened> straighten(const ReducedPicture& reduced, const View& view, const Track& track) {
    const double spacing_mm =
        std::max(0.4, reduced.factor * view.mm_per_px(track.centre_mm[track.centre_mm.size() / 2]));
    const auto unrolled = [&](const std::vector<cv::Point2d>& along_mm, double smoothing,
                              double half_width_mm) {
        return unroll(reduced.bgr, reduced.factor, view, centre_line(along_mm, smoothing, spacing_mm),
                      half_width_mm);
    };
    Straightened out{track.centre_mm, track.width_mm};
    double smoothing = 6.0;
    constexpr double room_mm = 15.0;  // to tell a stripe from an edge
    constexpr int most_rounds = 3;
    for (int round = 0; round < most_rounds; ++round) {
        const Strip strip = unrolled(out.centre_mm, smoothing, 0.5 * out.width_mm + room_mm);
        const StationLight light = station_light(strip);
        std::vector<double> left, right;
        for (const auto& e : find_edges(strip, light, 0.5 * out.width_mm, shadow_beside_webbing)) {
            left.push_back(e.left);
            right.push_back(e.right);
        }
        const auto width = usual_width(left, right);
        if (!width) return std::nullopt;
        const double station_mm = light.station_mm();
        const auto middle = line_between(left, right, *width, static_cast<int>(straight_mm / station_mm));
        std::vector<cv::Point2d> middle_mm;
        for (std::size_t s = 0; s < middle.size(); ++s)
            if (!std::isnan(middle[s])) middle_mm.push_back(strip.bench_mm(light.row[s], middle[s]));
        constexpr std::size_t least_stations = 20;
        if (middle_mm.size() < least_stations) return std::nullopt;

        smoothing = smoothing_mm;
        const Strip straight = unrolled(middle_mm, smoothing, 0.5 * *width + room_mm);
        const StationLight straight_light = station_light(straight);
        const ColumnLooks looks = column_looks(straight, straight_light);
        out = between(straight, straight_light, outermost_edge(straight, looks, *width / 2, -1.0).at_mm,
                      outermost_edge(straight, looks, *width / 2, 1.0).at_mm);
        // What was followed were the edges, not stripes.
        if (out.width_mm < *width + 2 * stripe_mm) break;
    }
    return out;
}

// The line between, moved out to one side by as much as that side's own placings ask for over a long stretch:
// in perspective the edges of sight are not quite as far apart everywhere.
std::vector<double> edge_beside(const std::vector<double>& middle, const std::vector<double>& placed) {
    std::vector<double> offset(middle.size(), nan);
    for (std::size_t s = 0; s < middle.size(); ++s) offset[s] = placed[s] - middle[s];
    constexpr int long_stretch = 60;
    offset = running_median(offset, long_stretch);
    std::vector<double> edge(middle.size());
    for (std::size_t s = 0; s < middle.size(); ++s) edge[s] = middle[s] + offset[s];
    return edge;
}

// Webbing is woven alike on both sides: where one edge was placed outside a stripe and the other at the
// stripe's own border, since beyond it nothing told webbing in its own shade from shadow, that one is moved
// out as far. On the bench plane the selvedge shows more on the side that the camera looks onto.
void mirror_selvedge(WebEdges& web, PlacedEdge& left, PlacedEdge& right, double lean_mm) {
    const auto move = [&](double side, PlacedEdge& here, const PlacedEdge& there, std::vector<double>& line,
                          double WebPair::*of_pair) {
        if (!here.at_stripe || !there.beyond_stripe_mm) return;
        const double by_mm = *there.beyond_stripe_mm + 2 * side * lean_mm;
        if (by_mm <= 0) return;
        for (double& at_mm : line) at_mm += side * by_mm;
        for (WebPair& pair : web.pairs) pair.*of_pair += side * by_mm;
        // Both err alike, and webbing is as thick as it is, give or take a third.
        constexpr double thickness_u = 1.0 / 3 / 1.7320508;
        here.doubt_mm = std::hypot(std::sqrt(3.0) * there.doubt_mm, 2 * lean_mm * thickness_u);
    };
    move(-1.0, left, right, web.sound.left, &WebPair::left_mm);
    move(1.0, right, left, web.sound.right, &WebPair::right_mm);
    web.edge_doubt_mm = std::hypot(left.doubt_mm, right.doubt_mm) / std::sqrt(2.0);
}

// Numbers nearest to those that are none.
void fill(std::vector<double>& values) {
    for (std::size_t i = 1; i < values.size(); ++i)
        if (std::isnan(values[i])) values[i] = values[i - 1];
    for (std::size_t i = values.size(); i-- > 1;)
        if (std::isnan(values[i - 1])) values[i - 1] = values[i];
}

}  // namespace

std::vector<double> line_between(const std::vector<double>& left, const std::vector<double>& right,
                                 double width_mm, int reach) {
    const int n = static_cast<int>(left.size());
    std::vector<double> middle(left.size(), nan);
    std::vector<Vote> votes;
    constexpr double agreement_mm = 0.5;
    for (int s = 0; s < n; ++s) {
        votes.clear();
        for (int k = std::max(0, s - reach); k <= std::min(n - 1, s + reach); ++k) {
            const auto i = static_cast<std::size_t>(k);
            const double x = static_cast<double>(k - s) / reach;
            const bool agreed = std::abs(right[i] - left[i] - width_mm) < agreement_mm;
            if (!std::isnan(left[i])) votes.push_back({x, left[i] + width_mm / 2, agreed});
            if (!std::isnan(right[i])) votes.push_back({x, right[i] - width_mm / 2, agreed});
        }
        constexpr std::size_t least_votes = 8;
        if (votes.size() >= least_votes) middle[static_cast<std::size_t>(s)] = robust_middle(votes);
    }
    return middle;
}

std::optional<WebEdges> find_web_edges(const cv::Mat& bgr, const ReducedPicture& reduced, const View& view,
                                       const Track& track, double edge_width_px) {
    auto straight = straighten(reduced, view, track);
    if (!straight) return std::nullopt;
    const double mm_per_px = view.mm_per_px(straight->centre_mm[straight->centre_mm.size() / 2]);
    WebEdges web;
    const auto unroll_webbing = [&] {
        web.strip = unroll(bgr, 1, view, centre_line(straight->centre_mm, smoothing_mm, mm_per_px),
                           0.5 * straight->width_mm + web_fibre_room_mm);
        web.light = station_light(web.strip);
    };
    unroll_webbing();
    WebBorders borders = outermost_borders(web.strip, web.light, straight->width_mm);
    if (borders.width_mm() > straight->width_mm + stripe_mm) {
        straight = between(web.strip, web.light, borders.left_mm, borders.right_mm);
        borders = {straight->width_mm / 2, straight->width_mm / 2};
        unroll_webbing();
    }
    // The strip's own sampling between pixels blurs a little more.
    constexpr double width_of_blur = 2.563, sampling_blur_px = 0.4;
    web.blur_mm = std::hypot(edge_width_px / width_of_blur, sampling_blur_px) * mm_per_px;
    // JPEG and HEIC halve hue, see limb_fit.h.
    web.hue_blur_mm = std::hypot(web.blur_mm, mm_per_px);

    // The selvedge is round; a stripe may begin not far within.
    constexpr double least_spacing_mm = 0.1, selvedge_radius_mm = 1.125;
    constexpr LimbFit::Window window{1.3, 1.8};
    const LimbFit fit(std::max(mm_per_px, least_spacing_mm), web.blur_mm, mm_per_px, selvedge_radius_mm,
                      window);
    std::vector<double> left(web.light.row.size(), -borders.left_mm),
        right(web.light.row.size(), borders.right_mm);
    constexpr std::size_t least_pairs = 10;
    constexpr double outlier_mm = 0.25;
    // Twice: the second time about where the neighbours' edges are, so that the window is centred on the
    // edge.
    const cv::Vec3d plain = plain_hue(web, borders);
    PlacedEdge left_edge, right_edge;
    for (int round = 0; round < 2; ++round) {
        const double reach_mm = round == 0 ? 0.6 : 0.35;
        const auto place = [&](double side, std::vector<double> expected_mm, PlacedEdge& edge) {
            if (round > 0 && !edge.by_hue && !edge.by_fall && !edge.beyond_stripe_mm) return;
            KnownHues known{plain, std::nullopt, edge.beyond_stripe_mm};
            // The window holds the stripe too.
            constexpr double most_beyond_mm = 0.6;
            if (edge.beyond_stripe_mm && *edge.beyond_stripe_mm > most_beyond_mm) {
                for (double& at_mm : expected_mm) at_mm -= side * (*edge.beyond_stripe_mm - most_beyond_mm);
                known.beyond_stripe_mm = most_beyond_mm;
            }
            if (edge.hue_sure || edge.beyond_stripe_mm) known.web_hue = edge.web_hue;
            edge = place_web_edge(web, fit, expected_mm, side, reach_mm, known);
        };
        place(-1.0, left, left_edge);
        place(1.0, right, right_edge);
        const auto &placed_left = left_edge.at_mm, &placed_right = right_edge.at_mm;
        web.edge_doubt_mm = std::hypot(left_edge.doubt_mm, right_edge.doubt_mm) / std::sqrt(2.0);
        const auto width = usual_width(placed_left, placed_right);
        if (!width) return std::nullopt;
        const double station_mm = web.light.station_mm();
        const auto middle =
            line_between(placed_left, placed_right, *width, static_cast<int>(straight_mm / station_mm));
        left = edge_beside(middle, placed_left);
        right = edge_beside(middle, placed_right);
        fill(left);
        fill(right);
        web.pairs.clear();
        for (std::size_t s = 0; s < left.size(); ++s)
            if (std::abs(placed_left[s] - left[s]) < outlier_mm &&
                std::abs(placed_right[s] - right[s]) < outlier_mm)
                web.pairs.push_back({s, placed_left[s], placed_right[s]});
    }
    if (web.pairs.size() < least_pairs) return std::nullopt;
    web.sound = {std::move(left), std::move(right)};
    mirror_selvedge(web, left_edge, right_edge, sight_lean_mm(web.strip, view));
    return web;
}

}  // namespace frayhold::gauge
