// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_limbs.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/core.hpp>

#include "gauge/bench_within.h"
#include "gauge/limb_fit.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr int window = 4;  // stations to either side that share one placing of the limbs
constexpr int stride = 3;

struct Straightened {
    std::vector<cv::Point2d> centre_mm;
    double width_mm;
};

// Centre line and width from the item's borders in the reduced picture.
std::optional<Straightened> straighten(const ReducedPicture& reduced, const View& view, const Track& track) {
    const double spacing_mm =
        std::max(0.4, reduced.factor * view.mm_per_px(track.centre_mm[track.centre_mm.size() / 2]));
    const Strip strip = unroll(reduced.bgr, reduced.factor, view,
                               centre_line(track.centre_mm, 6.0, spacing_mm), 1.6 * track.width_mm);
    const StationLight light = station_light(strip);
    const auto edges = find_edges(strip, light, 0.5 * track.width_mm);
    std::vector<double> left, right, widths;
    for (const auto& e : edges) {
        left.push_back(e.left);
        right.push_back(e.right);
    }
    constexpr int reach = 12;
    left = running_median(left, reach);
    right = running_median(right, reach);
    Straightened out;
    for (std::size_t s = 0; s < left.size(); ++s) {
        if (std::isnan(left[s]) || std::isnan(right[s])) continue;
        out.centre_mm.push_back(strip.bench_mm(light.row[s], (left[s] + right[s]) / 2));
        widths.push_back(right[s] - left[s]);
    }
    constexpr std::size_t least_stations = 20;
    if (widths.size() < least_stations) return std::nullopt;
    out.width_mm = median(std::move(widths));
    return out;
}

// Mean light over the window's stations along a line across one limb; empty where the strip ends or is
// hidden.
std::vector<cv::Vec3d> limb_line(const Strip& strip, const StationLight& light, const LimbFit& fit,
                                 std::size_t station, double expected_mm, double side) {
    std::vector<cv::Vec3d> line;
    line.reserve(static_cast<std::size_t>(fit.samples()));
    const int s = static_cast<int>(station);
    for (int i = 0; i < fit.samples(); ++i) {
        const double column = strip.column_at(side * (expected_mm + fit.outward_mm(i)));
        const int c = static_cast<int>(std::floor(column));
        if (c < 0 || c + 1 >= strip.bgr.cols) return {};
        const double f = column - c;
        cv::Vec3d sum;
        double weight = 0.0;
        for (int k = s - window; k <= s + window; ++k) {
            const auto* row = light.luminance_and_colour.ptr<cv::Vec3f>(k);
            const double w = light.seen.at<float>(k, c);
            sum += w * (cv::Vec3d(row[c]) * (1 - f) + cv::Vec3d(row[c + 1]) * f);
            weight += w;
        }
        if (weight < window) return {};
        line.push_back(sum * (1 / weight));
    }
    return line;
}

// Distance outward of each window's limb on one side; NaN where there is none. And how plain it is.
struct PlacedLimbs {
    std::vector<double> outward_mm;
    std::vector<double> plainness;
};
PlacedLimbs place_limbs(const Strip& strip, const StationLight& light, const LimbFit& fit,
                        const std::vector<double>& expected_mm, double side) {
    PlacedLimbs placed{std::vector<double>(expected_mm.size(), nan),
                       std::vector<double>(expected_mm.size(), 0.0)};
    std::vector<std::size_t> middles;
    for (std::size_t s = window; s + window < expected_mm.size(); s += stride)
        if (!std::isnan(expected_mm[s])) middles.push_back(s);
    cv::parallel_for_({0, static_cast<int>(middles.size())}, [&](const cv::Range& range) {
        for (int i = range.start; i < range.end; ++i) {
            const std::size_t s = middles[static_cast<std::size_t>(i)];
            const auto line = limb_line(strip, light, fit, s, expected_mm[s], side);
            if (line.empty()) continue;
            if (const auto edge = fit.edge(line)) {
                placed.outward_mm[s] = expected_mm[s] + edge->outward_mm;
                placed.plainness[s] = edge->plainness;
            }
        }
    });
    return placed;
}

// Straight lines between the entries that are numbers; the nearest number beyond the first and last.
std::vector<double> without_gaps(std::vector<double> values) {
    std::size_t last = values.size();
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (std::isnan(values[i])) continue;
        const std::size_t from = last == values.size() ? 0 : last + 1;
        for (std::size_t k = from; k < i; ++k)
            values[k] = last == values.size()
                            ? values[i]
                            : values[last] + (values[i] - values[last]) * static_cast<double>(k - last) /
                                                 static_cast<double>(i - last);
        last = i;
    }
    if (last < values.size())
        for (std::size_t k = last + 1; k < values.size(); ++k) values[k] = values[last];
    return values;
}

// Unrolls the picture again, wide enough for loose fibres, along the line half-way between the limbs: there
// the sound edges keep to their columns, so that each column can be judged by its own usual look. Limbs are
// carried over.
void centre_between_limbs(RopeLimbs& limbs, const cv::Mat& bgr, const View& view, double smoothing_mm,
                          double half_width_mm) {
    std::vector<cv::Point2d> centre, left_mm, right_mm;
    for (const LimbPair& p : limbs.pairs) {
        const double row = limbs.light.row[p.station];
        centre.push_back(limbs.strip.bench_mm(row, (p.left_mm + p.right_mm) / 2));
        left_mm.push_back(limbs.strip.bench_mm(row, p.left_mm));
        right_mm.push_back(limbs.strip.bench_mm(row, p.right_mm));
    }
    limbs.strip =
        unroll(bgr, 1, view, centre_line(centre, smoothing_mm, limbs.strip.mm_per_px), half_width_mm);
    limbs.light = station_light(limbs.strip, StationDetail::mean_only);
    const std::size_t stations = limbs.light.row.size();
    std::vector<double> known_left(stations, nan), known_right(stations, nan);
    std::vector<LimbPair> pairs;
    std::size_t s = 0;
    for (std::size_t i = 0; i < centre.size(); ++i) {
        // Both run the same way, so the nearest station is never behind the last one's.
        const auto gap = [&](std::size_t station) {
            return cv::norm(limbs.strip.bench_mm(limbs.light.row[station], 0) - centre[i]);
        };
        while (s + 1 < stations && gap(s + 1) <= gap(s)) ++s;
        const auto row = static_cast<std::size_t>(std::lround(limbs.light.row[s]));
        const auto across = [&](cv::Point2d p) {
            return (p - limbs.strip.line.at_mm[row]).dot(limbs.strip.line.across(row));
        };
        known_left[s] = across(left_mm[i]);
        known_right[s] = across(right_mm[i]);
        pairs.push_back({s, known_left[s], known_right[s], limbs.pairs[i].plainness});
    }
    limbs.pairs = std::move(pairs);
    limbs.sound.left = without_gaps(std::move(known_left));
    limbs.sound.right = without_gaps(std::move(known_right));
}

}  // namespace

std::optional<RopeLimbs> find_limbs(const cv::Mat& bgr, const ReducedPicture& reduced, const View& view,
                                    const Track& track, double edge_width_px) {
    const auto straight = straighten(reduced, view, track);
    if (!straight) return std::nullopt;
    const double mm_per_px = view.mm_per_px(straight->centre_mm[straight->centre_mm.size() / 2]);
    constexpr double limb_room_mm = 6.0, fibre_room_mm = 34.0, smoothing_mm = 8.0;
    RopeLimbs limbs;
    limbs.strip = unroll(bgr, 1, view, centre_line(straight->centre_mm, smoothing_mm, mm_per_px),
                         0.5 * straight->width_mm + limb_room_mm);
    limbs.light = station_light(limbs.strip);
    // The strip's own sampling between pixels blurs a little more.
    constexpr double width_of_blur = 2.563, sampling_blur_px = 0.4;
    limbs.blur_mm = std::hypot(edge_width_px / width_of_blur, sampling_blur_px) * mm_per_px;

    const auto edges = find_edges(limbs.strip, limbs.light, 0.5 * straight->width_mm);
    std::vector<double> left, right;
    for (const auto& e : edges) {
        left.push_back(-e.left);
        right.push_back(e.right);
    }
    constexpr int wide = 12;
    left = running_median(left, wide);
    right = running_median(right, wide);
    constexpr double least_spacing_mm = 0.1;
    // As much of the braid as tells how rough it is, of a thin cord no more than to beyond its middle.
    const double radius_mm = 0.5 * straight->width_mm;
    const LimbFit::Window seen{std::min(3.0, 1.2 * radius_mm), 2.5};
    const LimbFit fit(std::max(mm_per_px, least_spacing_mm), limbs.blur_mm, mm_per_px, radius_mm, seen);
    // Twice: the second time about where the neighbours' limbs are, so that the window is centred on the
    // edge.
    for (int round = 0; round < 2; ++round) {
        const auto placed_left = place_limbs(limbs.strip, limbs.light, fit, left, -1.0);
        const auto placed_right = place_limbs(limbs.strip, limbs.light, fit, right, 1.0);
        const auto smooth_left = running_median(placed_left.outward_mm, wide),
                   smooth_right = running_median(placed_right.outward_mm, wide);
        limbs.pairs.clear();
        for (std::size_t s = 0; s < left.size(); ++s) {
            constexpr double outlier_mm = 0.35;
            const double l = placed_left.outward_mm[s], r = placed_right.outward_mm[s];
            if (std::abs(l - smooth_left[s]) < outlier_mm && std::abs(r - smooth_right[s]) < outlier_mm)
                limbs.pairs.push_back(
                    {s, -l, r, std::min(placed_left.plainness[s], placed_right.plainness[s])});
            if (!std::isnan(smooth_left[s])) left[s] = smooth_left[s];
            if (!std::isnan(smooth_right[s])) right[s] = smooth_right[s];
        }
    }
    const auto bench = bench_within(limbs.strip, limbs.light, limbs.pairs);
    std::vector<LimbPair> of_rope;
    for (std::size_t i = 0; i < limbs.pairs.size(); ++i)
        if (!bench[i]) of_rope.push_back(limbs.pairs[i]);
    limbs.pairs = std::move(of_rope);
    for (const bool of_left : {true, false}) {
        const auto ends = bench_ends_within_mm(limbs.strip, limbs.light, limbs.pairs, of_left);
        // As far as blur may have moved where the looks are equal, that of colour above all.
        const double usual = limbs.blur_mm + 0.05;
        if (ends && std::abs(*ends) > usual) limbs.ends_within_mm += *ends - std::copysign(usual, *ends);
    }
    constexpr std::size_t least_pairs = 10;
    if (limbs.pairs.size() < least_pairs) return std::nullopt;
    centre_between_limbs(limbs, bgr, view, smoothing_mm, fibre_room_mm + 0.5 * straight->width_mm);
    return limbs;
}

}  // namespace frayhold::gauge
