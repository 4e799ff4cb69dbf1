// SPDX-License-Identifier: Apache-2.0
#include "gauge/changed_edge.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr double flank_mm = 14.0;                             // looked at to either side of a stretch
constexpr double outside_from_mm = 0.3, outside_to_mm = 2.0;  // of the edge: where fluff stands thickest

// Mean share of fibre between two distances outward of the edge, station by station.
std::vector<double> band_share(const Strip& strip, const FibreCover& cover,
                               const std::vector<double>& edge_mm, double side, double from_mm,
                               double to_mm) {
    std::vector<double> band(edge_mm.size());
    const auto column = [&](double across_mm) {
        return std::clamp(static_cast<int>(std::lround(strip.column_at(across_mm))), 0, cover.share.cols - 1);
    };
    for (std::size_t s = 0; s < edge_mm.size(); ++s) {
        const int a = column(edge_mm[s] + side * from_mm), b = column(edge_mm[s] + side * to_mm);
        const auto* row = cover.share.ptr<float>(static_cast<int>(s));
        double sum = 0.0;
        for (int c = std::min(a, b); c <= std::max(a, b); ++c) sum += static_cast<double>(row[c]);
        band[s] = sum / (std::abs(b - a) + 1);
    }
    return band;
}

// Sums up to each station, so that the mean of any stretch costs two look-ups.
class StretchMeans {
  public:
    explicit StretchMeans(const std::vector<double>& values) : sums_(values.size() + 1, 0.0) {
        for (std::size_t i = 0; i < values.size(); ++i) sums_[i + 1] = sums_[i] + values[i];
    }
    [[nodiscard]] double mean(std::size_t from, std::size_t to) const {
        return (sums_[to] - sums_[from]) / static_cast<double>(to - from);
    }
    // How far a stretch's mean stands above that of the flanks.
    [[nodiscard]] double step(std::size_t from, std::size_t length, std::size_t flank) const {
        return mean(from, from + length) -
               (mean(from - flank, from) + mean(from + length, from + length + flank)) / 2;
    }

    // Whether it stands above either flank by half of that at least.
    [[nodiscard]] bool ends_both_ways(std::size_t from, std::size_t length, std::size_t flank) const {
        const double level = mean(from, from + length), half = step(from, length, flank) / 2;
        return level - mean(from - flank, from) > half &&
               level - mean(from + length, from + length + flank) > half;
    }

  private:
    std::vector<double> sums_;
};

// The step at every place where a stretch of that length fits with its flanks, and their scatter: of most,
// which no stretch of fluff touches.
std::pair<std::vector<double>, double> steps_of(const StretchMeans& means, std::size_t stations,
                                                std::size_t length, std::size_t flank) {
    std::vector<double> steps;
    for (std::size_t s = flank; s + length + flank <= stations; ++s)
        steps.push_back(means.step(s, length, flank));
    std::vector<double> sizes = steps;
    for (double& size : sizes) size = std::abs(size);
    const double scatter = std::max(1.4826 * median(std::move(sizes)), 1e-4);
    return {std::move(steps), scatter};
}

// The largest size among the values farther than `apart` from a place.
class ElsewhereMost {
  public:
    ElsewhereMost(const std::vector<double>& values, std::size_t apart)
        : apart_(apart), before_(values.size() + 1, 0.0), from_(values.size() + 1, 0.0) {
        for (std::size_t i = 0; i < values.size(); ++i)
            before_[i + 1] = std::max(before_[i], std::abs(values[i]));
        for (std::size_t i = values.size(); i-- > 0;) from_[i] = std::max(from_[i + 1], std::abs(values[i]));
    }
    [[nodiscard]] double at(std::size_t i) const {
        return std::max(before_[i > apart_ ? i - apart_ : 0],
                        from_[std::min(i + apart_ + 1, from_.size() - 1)]);
    }

  private:
    std::size_t apart_;
    std::vector<double> before_;  // of the values before a place
    std::vector<double> from_;    // of those from it on
};

std::size_t stations_in(double mm, double station_mm) {
    return static_cast<std::size_t>(std::max(1L, std::lround(mm / station_mm)));
}

}  // namespace

std::optional<double> change_outside(const Strip& strip, const FibreCover& cover, const SoundEdges& sound,
                                     double side, double station_mm, std::size_t from, std::size_t to) {
    const std::size_t stations = sound.left.size(), length = to - from,
                      flank = stations_in(flank_mm, station_mm);
    if (stations < 3 * (length + 2 * flank)) return std::nullopt;
    const StretchMeans outside(
        band_share(strip, cover, side < 0 ? sound.left : sound.right, side, outside_from_mm, outside_to_mm));
    const auto [steps, scatter] = steps_of(outside, stations, length, flank);
    // Near an end of the strip: by the nearest place that has both flanks.
    const std::size_t place = std::min(from > flank ? from - flank : 0, steps.size() - 1);
    return steps[place] / scatter;
}

std::optional<ChangedEdge> changed_edge(const Strip& strip, const FibreCover& cover, const SoundEdges& sound,
                                        double side, double station_mm, const std::vector<char>& left_out) {
    struct Bands {
        StretchMeans outside, inside, bench;
    };
    const auto bands_of = [&](double of_side) {
        const auto& edge_mm = of_side < 0 ? sound.left : sound.right;
        return Bands{StretchMeans(band_share(strip, cover, edge_mm, of_side, outside_from_mm, outside_to_mm)),
                     StretchMeans(band_share(strip, cover, edge_mm, of_side, -1.5, -0.3)),
                     StretchMeans(band_share(strip, cover, edge_mm, of_side, 8.0, 12.0))};
    };
    const Bands here = bands_of(side), there = bands_of(-side);
    const std::size_t flank = stations_in(flank_mm, station_mm), n = sound.left.size();
    const auto damaged_in = [&](std::size_t from, std::size_t to) {
        return std::any_of(left_out.begin() + static_cast<std::ptrdiff_t>(from),
                           left_out.begin() + static_cast<std::ptrdiff_t>(to),
                           [](char damaged) { return damaged != 0; });
    };
    constexpr double plain_outside = 3.0, plain_together = 6.0, least_share = 0.05, plain_there = 3.0,
                     plain_anywhere = 15.0, over_elsewhere = 2.0;
    std::optional<ChangedEdge> found;
    double most = 0.0;
    for (const double length_mm : {10.0, 14.0, 20.0, 28.0, 40.0, 56.0, 80.0}) {
        const std::size_t length = stations_in(length_mm, station_mm);
        if (n < 3 * (length + 2 * flank)) break;
        const auto [outside, outside_scatter] = steps_of(here.outside, n, length, flank);
        const auto [inside, inside_scatter] = steps_of(here.inside, n, length, flank);
        const auto [outside_there, outside_there_scatter] = steps_of(there.outside, n, length, flank);
        const auto [inside_there, inside_there_scatter] = steps_of(there.inside, n, length, flank);
        const ElsewhereMost elsewhere(outside, length + flank);
        for (std::size_t i = 0; i < outside.size(); ++i) {
            const double out = outside[i] / outside_scatter, in = std::max(0.0, inside[i] / inside_scatter);
            if (out < plain_outside || outside[i] < least_share || std::hypot(out, in) < plain_together)
                continue;
            // Where the bench itself changes so along the edge, no more than that can be told.
            if (out < plain_anywhere && outside[i] < over_elsewhere * elsewhere.at(i)) continue;
            // Glare and shadows lie across both edges and far out on the bench.
            constexpr double share_far_out = 0.4;
            if (std::hypot(std::max(0.0, outside_there[i] / outside_there_scatter),
                           std::max(0.0, inside_there[i] / inside_there_scatter)) > plain_there ||
                here.bench.step(i + flank, length, flank) > share_far_out * outside[i])
                continue;
            const std::size_t from = i + flank, to = from + length;
            if (damaged_in(from - flank, to + flank) || !here.outside.ends_both_ways(from, length, flank))
                continue;
            // Of all plain ones, the stretch that a change of one height along it explains best.
            const double explained = (outside[i] + std::max(0.0, inside[i])) * std::sqrt(length_mm);
            if (explained <= most) continue;
            most = explained;
            found = ChangedEdge{from, to, inside[i] / inside_scatter};
        }
    }
    if (!found) return std::nullopt;
    // Fluff thins out towards its ends: each is where the mean over a few stations is so small a share of
    // what it is along the stretch, above that of the flank.
    const std::size_t few = stations_in(3.0, station_mm);
    const auto mean = [&](std::size_t from, std::size_t to) {
        return here.outside.mean(from, to) + here.inside.mean(from, to);
    };
    const auto level = [&](std::size_t s) { return mean(s > few ? s - few : 0, std::min(n, s + few + 1)); };
    constexpr double end_share = 0.15;
    const double high = mean(found->from, found->to);
    const auto end_level = [&](double flank_level) { return flank_level + end_share * (high - flank_level); };
    const double before = end_level(mean(found->from - flank, found->from)),
                 after = end_level(mean(found->to, found->to + flank));
    const std::size_t middle = (found->from + found->to) / 2;
    while (found->from < middle && level(found->from) < before) ++found->from;
    while (found->from > 0 && level(found->from - 1) >= before) --found->from;
    while (found->to > middle && level(found->to - 1) < after) --found->to;
    while (found->to < n && level(found->to) >= after) ++found->to;
    if (damaged_in(found->from, found->to)) return std::nullopt;
    return found;
}

}  // namespace frayhold::gauge
