// SPDX-License-Identifier: Apache-2.0
#include "gauge/strip_edges.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/core.hpp>

namespace frayhold::gauge {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// First and second moments of log light and log roughness, summed along one station (and over its
// neighbours). The first of the three coordinates is lightness, the other two are hue, all of one scale (an
// orthonormal turn of log B, G, R).
struct Moments {
    double weight = 0.0;
    cv::Vec3d sum;
    cv::Vec<double, 6> products;  // xx yy zz xy xz yz
    cv::Vec2d rough;              // sum and sum of squares

    void add(const cv::Vec3d& c, double roughness) {
        weight += 1.0;
        sum += c;
        products +=
            cv::Vec<double, 6>(c[0] * c[0], c[1] * c[1], c[2] * c[2], c[0] * c[1], c[0] * c[2], c[1] * c[2]);
        rough += cv::Vec2d(roughness, roughness * roughness);
    }
    friend Moments operator-(const Moments& a, const Moments& b) {
        return {a.weight - b.weight, a.sum - b.sum, a.products - b.products, a.rough - b.rough};
    }
    Moments& operator+=(const Moments& o) {
        weight += o.weight;
        sum += o.sum;
        products += o.products;
        rough += o.rough;
        return *this;
    }
    Moments& operator-=(const Moments& o) { return *this = *this - o; }

    // weight x log determinant of the covariance, each variance enlarged by what a shadow may make of it.
    [[nodiscard]] double spread(const ShadowBeside& shadow) const {
        const cv::Vec3d m = sum / weight;
        constexpr double rough_floor = 0.05;
        const double xx = products[0] / weight - m[0] * m[0] + shadow.lightness,
                     yy = products[1] / weight - m[1] * m[1] + shadow.hue,
                     zz = products[2] / weight - m[2] * m[2] + shadow.hue,
                     xy = products[3] / weight - m[0] * m[1], xz = products[4] / weight - m[0] * m[2],
                     yz = products[5] / weight - m[1] * m[2];
        const double det = xx * (yy * zz - yz * yz) - xy * (xy * zz - yz * xz) + xz * (xy * yz - yy * xz);
        const double rough_mean = rough[0] / weight;
        return weight * (std::log(std::max(det, 1e-15)) +
                         std::log(rough[1] / weight - rough_mean * rough_mean + rough_floor));
    }
};

using StationMoments = std::vector<Moments>;  // running sums over columns, one longer than the columns

StationMoments running_moments(const cv::Vec3f* row, const float* roughness, const float* seen, int columns) {
    StationMoments sums(static_cast<std::size_t>(columns) + 1);
    // Darker than this, sensor noise would pass for colour.
    constexpr float dark = 0.01F, smooth = 0.02F;
    for (int c = 0; c < columns; ++c) {
        const auto i = static_cast<std::size_t>(c);
        sums[i + 1] = sums[i];
        if (seen[c] <= 0.5F) continue;
        const double b = std::log(row[c][0] + dark), g = std::log(row[c][1] + dark),
                     r = std::log(row[c][2] + dark);
        sums[i + 1].add(
            {(b + g + r) / std::sqrt(3.0), (r - b) / std::sqrt(2.0), (2 * g - r - b) / std::sqrt(6.0)},
            std::log(roughness[c] + smooth));
    }
    return sums;
}

// `side` is -1 for the left edge and +1 for the right; distances grow outward.
double likeliest_border(const Strip& strip, const StationMoments& sums, double side, double expected_mm,
                        double reach_mm, const ShadowBeside& shadow) {
    const auto between = [&](double from_mm, double to_mm) {
        const int last = strip.bgr.cols;
        const double a = std::min(side * from_mm, side * to_mm), b = std::max(side * from_mm, side * to_mm);
        const int from = std::clamp(static_cast<int>(std::lround(strip.column_at(a))), 0, last);
        const int to = std::clamp(static_cast<int>(std::lround(strip.column_at(b))), from, last);
        return sums[static_cast<std::size_t>(to)] - sums[static_cast<std::size_t>(from)];
    };
    constexpr double band_mm = 3.0;
    // The same stretch of line is shared out at every place tried, so the costs can be compared.
    const double inmost = std::max(0.3, expected_mm - reach_mm - band_mm),
                 outmost = expected_mm + reach_mm + band_mm;
    double best = 0.0, at = nan;
    bool first = true;
    for (double t = expected_mm - reach_mm; t <= expected_mm + reach_mm; t += strip.mm_per_px) {
        const Moments inside = between(inmost, t), outside = between(t, outmost);
        if (inside.weight < 8 || outside.weight < 8) continue;
        const double cost = inside.spread(shadow) + outside.spread(shadow);
        if (first || cost < best) {
            first = false;
            best = cost;
            at = t;
        }
    }
    if (first) return nan;
    // One distribution for both sides would do as well: no edge.
    const Moments all = between(inmost, outmost);
    return all.spread(shadow) - best > 0.15 * all.weight ? at : nan;
}

}  // namespace

std::vector<double> running_median(const std::vector<double>& values, int reach) {
    const int n = static_cast<int>(values.size());
    std::vector<double> out(values.size(), nan);
    std::vector<double> window;
    for (int i = 0; i < n; ++i) {
        window.clear();
        for (int k = std::max(0, i - reach); k <= std::min(n - 1, i + reach); ++k)
            if (!std::isnan(values[static_cast<std::size_t>(k)]))
                window.push_back(values[static_cast<std::size_t>(k)]);
        if (window.empty()) continue;
        const auto middle = window.begin() + static_cast<std::ptrdiff_t>(window.size() / 2);
        std::nth_element(window.begin(), middle, window.end());
        out[static_cast<std::size_t>(i)] = *middle;
    }
    return out;
}

std::vector<StationEdges> find_edges(const Strip& strip, const StationLight& light, double half_width_mm,
                                     const ShadowBeside& shadow) {
    const int stations = light.mean.rows;
    const auto n = static_cast<std::size_t>(stations);
    std::vector<StationMoments> single(n);
    cv::parallel_for_({0, stations}, [&](const cv::Range& range) {
        for (int s = range.start; s < range.end; ++s)
            single[static_cast<std::size_t>(s)] =
                running_moments(light.mean.ptr<cv::Vec3f>(s), light.roughness.ptr<float>(s),
                                light.seen.ptr<float>(s), strip.bgr.cols);
    });

    constexpr int neighbours = 4;
    const auto columns = static_cast<std::size_t>(strip.bgr.cols) + 1;
    std::vector<StationEdges> edges(n);
    cv::parallel_for_({0, stations}, [&](const cv::Range& range) {
        StationMoments window(columns);
        const auto shift_window = [&](int station, bool in) {
            if (station < 0 || station >= stations) return;
            for (std::size_t c = 0; c < columns; ++c)
                if (in)
                    window[c] += single[static_cast<std::size_t>(station)][c];
                else
                    window[c] -= single[static_cast<std::size_t>(station)][c];
        };
        for (int s = range.start - neighbours; s < range.start + neighbours; ++s) shift_window(s, true);
        for (int s = range.start; s < range.end; ++s) {
            shift_window(s + neighbours, true);
            if (s > range.start) shift_window(s - neighbours - 1, false);
            const double reach_mm = 0.35 * half_width_mm;
            auto& e = edges[static_cast<std::size_t>(s)];
            e.left = -likeliest_border(strip, window, -1.0, half_width_mm, reach_mm, shadow);
            e.right = likeliest_border(strip, window, 1.0, half_width_mm, reach_mm, shadow);
        }
    });
    return edges;
}

}  // namespace frayhold::gauge
