// SPDX-License-Identifier: Apache-2.0
#include "gauge/fibre_tracing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>

namespace frayhold::gauge {
namespace {

// Rows a column, as tangents of 0, 15, 30, 45, 60 and 72 degrees to either side.
constexpr std::array<double, 11> slopes{-3.08, -1.73, -1.0, -0.577, -0.268, 0.0,
                                        0.268, 0.577, 1.0,  1.73,   3.08};
constexpr int slope_count = static_cast<int>(slopes.size());
constexpr double line_mm = 1.3;
constexpr double memory_mm = 3.0;  // of a path's own strength
constexpr double narrow_px = 0.7;  // smoothing along with the lens's own blur
constexpr double beside_px = 2.5;  // how far to either side of a line the bench is looked at
constexpr double uneven_share = 0.25;
constexpr float level_share = 0.4F;  // of its own evidence of late that a fibre must keep up
constexpr float never = -1e9F;

float centile(std::vector<float>& values, double share) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

// How far the mean along a line of `length` pixels through each place stands above that of the lines beside
// it: the lesser of both sides, less a share of what the sides differ by, so that a border, a shadow or the
// flank of a dark line does not pass for a line.
cv::Mat ridge(const cv::Mat& padded, cv::Size size, int pad, double slope, double length) {
    const double norm = std::hypot(1.0, slope);
    const int half = std::max(2, static_cast<int>(std::lround(length / 2)));
    const int away_x = static_cast<int>(std::lround(beside_px / norm)),
              away_y = static_cast<int>(std::lround(-beside_px * slope / norm));
    const int room_x = std::abs(away_x), room_y = std::abs(away_y);
    const int width = size.width + 2 * room_x;
    cv::Mat line(size.height + 2 * room_y, width, CV_32F), out(size, CV_32F);
    for (int y = 0; y < line.rows; ++y) {
        float* to = line.ptr<float>(y);
        std::fill(to, to + width, 0.0F);
        for (int i = -half; i <= half; ++i) {
            const int along = static_cast<int>(std::lround(i * slope / norm)),
                      across = static_cast<int>(std::lround(i / norm));
            const float* from = padded.ptr<float>(pad + across - room_y + y) + (pad + along - room_x);
            for (int x = 0; x < width; ++x) to[x] += from[x];
        }
    }
    const float scale = 1.0F / static_cast<float>(2 * half + 1);
    constexpr auto uneven = static_cast<float>(0.5 + uneven_share);
    for (int y = 0; y < size.height; ++y) {
        const float* middle = line.ptr<float>(room_y + y) + room_x;
        const float* one = line.ptr<float>(room_y + y + away_y) + room_x + away_x;
        const float* other = line.ptr<float>(room_y + y - away_y) + room_x - away_x;
        float* to = out.ptr<float>(y);
        for (int x = 0; x < size.width; ++x)
            to[x] = scale * (middle[x] - 0.5F * (one[x] + other[x]) - uneven * std::abs(one[x] - other[x]));
    }
    return out;
}

// Wide tails, as of grain, must raise the measure: from the 68th and the 95th centile.
double scatter_on(const cv::Mat& values, const cv::Mat& calm) {
    std::vector<float> sizes;
    for (int r = 0; r < values.rows; r += 4) {
        const auto* v = values.ptr<float>(r);
        const auto* m = calm.ptr<uchar>(r);
        for (int c = r / 4 % 5; c < values.cols; c += 5)
            if (m[c]) sizes.push_back(std::abs(v[c]));
    }
    if (sizes.size() < 100) return 1.0;
    return std::max({centile(sizes, 0.6827), centile(sizes, 0.9545) / 2, 1e-3F});
}

// Each column of the strip less its median and over its scatter, never of less than `least`: next to the item
// run the foot of its shadow and the colour that JPEG lets bleed over the edge, all along it, and neither is
// a fibre.
void judge_by_column(cv::Mat& values, const cv::Mat& calm, double least) {
    std::vector<float> seen;
    for (int y = 0; y < values.rows; ++y) {
        auto* v = values.ptr<float>(y);
        const auto* m = calm.ptr<uchar>(y);
        seen.clear();
        for (int x = y % 5; x < values.cols; x += 5)
            if (m[x]) seen.push_back(v[x]);
        float usual = 0.0F, scale = static_cast<float>(least);
        if (seen.size() > 20) {
            usual = centile(seen, 0.5);
            for (float& s : seen) s = std::abs(s - usual);
            scale = std::max(scale, centile(seen, 0.8) / 1.2816F);
        }
        const float per_scatter = 1.0F / scale;
        for (int x = 0; x < values.cols; ++x) v[x] = (v[x] - usual) * per_scatter;
    }
}

int shift_at(double slope, int column) {
    return static_cast<int>(std::lround(slope * column)) -
           static_cast<int>(std::lround(slope * (column - 1)));
}

// The best path to each place of one column at one slope.
struct Paths {
    std::vector<float> gain, best, level;  // now, at its best so far, and its evidence of late
    explicit Paths(std::size_t n) : gain(n, never), best(n, never), level(n, 0.0F) {}
};

struct Tolls {
    float toll, gap, bend, memory, least_gain;
};

// How a path came to its place: from the slope below, the same, the one above, or it starts here. And whether
// it may end here, best and plain so far.
constexpr std::int32_t from_below = 0, from_same = 1, from_above = 2, rooted = 3, way = 3, may_end = 4;

// Places are gone through in blocks of this many: away from the item most hold no path and are passed over.
constexpr int block_rows = 64;

// Lengthens the paths by one column, several places at a time: this takes most of the time of a fray. Gives
// whether any path leads to one of the places.
//   floor: what a path gains at least at a place: nothing gained yet where one may start.
//   count: places, at least as many as a vector holds. To place x leads place x of `same` (and of its
//   neighbours, null at the ends of the slopes).
bool lengthen(Paths& to, std::size_t first, std::size_t shifted, std::size_t count, const Paths* below,
              const Paths& same, const Paths* above, const float* evidence, const float* floor, float step,
              const Tolls& tolls, std::int32_t* came) {
    const Paths& under = below ? *below : same;
    const Paths& over = above ? *above : same;
    const auto all = [](float value) { return cv::vx_setall_f32(value); };
    const auto all_int = [](std::int32_t value) { return cv::vx_setall_s32(value); };
    const cv::v_float32 length = all(step), share = all(std::min(1.0F, tolls.memory * step)),
                        toll = all(tolls.toll), gap = all(tolls.gap), bend = all(tolls.bend),
                        least_gain = all(tolls.least_gain), kept_share = all(level_share), none = all(never),
                        zero = all(0.0F);
    constexpr std::size_t lanes = cv::v_float32::nlanes;
    cv::v_float32 most = none;
    for (std::size_t at = 0; at < count; at += lanes) {
        const std::size_t i = std::min(at, count - lanes), from = shifted + i, into = first + i;
        cv::v_float32 g = cv::vx_load(&same.gain[from]), b = cv::vx_load(&same.best[from]),
                      l = cv::vx_load(&same.level[from]);
        cv::v_int32 how = all_int(from_same);
        const auto consider = [&](const Paths& paths, std::int32_t as) {
            const cv::v_float32 other = cv::vx_load(&paths.gain[from]) - bend;
            const cv::v_float32 better = other > g;
            g = cv::v_select(better, other, g);
            b = cv::v_select(better, cv::vx_load(&paths.best[from]), b);
            l = cv::v_select(better, cv::vx_load(&paths.level[from]), l);
            how = cv::v_select(cv::v_reinterpret_as_s32(better), all_int(as), how);
        };
        consider(under, from_below);
        consider(over, from_above);
        const cv::v_float32 z = cv::vx_load(evidence + i);
        g = g + length * (z - cv::v_max(kept_share * l, toll));
        l = l + share * (z - l);
        b = cv::v_max(g, b);
        g = cv::v_select(g < b - gap, none, g);
        const cv::v_float32 ends = (g >= b) & (g > least_gain) & (z > kept_share * l);
        how = how | (cv::v_reinterpret_as_s32(ends) & all_int(may_end));
        const cv::v_float32 starts = g < cv::vx_load(floor + i);
        g = cv::v_select(starts, zero, g);
        most = cv::v_max(most, g);
        cv::v_store(&to.gain[into], g);
        cv::v_store(&to.best[into], cv::v_select(starts, zero, b));
        cv::v_store(&to.level[into], cv::v_select(starts, zero, l));
        cv::v_store(came + i, cv::v_select(cv::v_reinterpret_as_s32(starts), all_int(rooted), how));
    }
    return cv::v_reduce_max(most) > 0.5F * never;
}

}  // namespace

double FibreTracing::response(double blur_px) {
    const double sigma = std::hypot(blur_px, narrow_px);
    return (1 - std::exp(-0.5 * std::pow(beside_px / sigma, 2))) / (sigma * std::sqrt(2 * CV_PI));
}

FibreTracing::FibreTracing(const cv::Mat& signal, const cv::Mat& calm, double mm_per_px)
    : mm_per_px_(mm_per_px) {
    cv::Mat narrow, flat, bare, padded;
    cv::transpose(signal, flat);
    cv::transpose(calm, bare);
    cv::GaussianBlur(flat, narrow, {5, 5}, narrow_px);
    const double length = line_mm / mm_per_px;
    const int pad = static_cast<int>(std::ceil(length / 2 + beside_px)) + 2;
    cv::copyMakeBorder(narrow, padded, pad, pad, pad, pad, cv::BORDER_REFLECT);
    evidence_.resize(slopes.size());
    std::array<double, slopes.size()> scatters{};
    cv::parallel_for_({0, slope_count}, [&](const cv::Range& range) {
        for (auto k = static_cast<std::size_t>(range.start); k < static_cast<std::size_t>(range.end); ++k) {
            evidence_[k] = ridge(padded, flat.size(), pad, slopes[k], length);
            scatters[k] = scatter_on(evidence_[k], bare);
            judge_by_column(evidence_[k], bare, scatters[k]);
        }
    });
    scatter_ =
        std::sqrt(std::inner_product(scatters.begin(), scatters.end(), scatters.begin(), 0.0) / slope_count);
}

std::vector<int> FibreTracing::outermost(const cv::Mat& roots, const std::vector<int>& first_column, int side,
                                         double toll, cv::Range rows) const {
    const int length = rows.size();
    const auto n = static_cast<std::size_t>(length);
    std::vector<int> reach(first_column.begin() + rows.start, first_column.begin() + rows.end);
    constexpr int least_rows = 24;  // room for the steepest slope and a vector
    if (length < least_rows) return reach;
    const int start = side > 0 ? *std::min_element(reach.begin(), reach.end())
                               : *std::max_element(reach.begin(), reach.end());
    constexpr double reach_mm = 30.0;  // no fibre is looked for farther out
    const int columns = std::min(static_cast<int>(reach_mm / mm_per_px_),
                                 side > 0 ? evidence_.front().rows - start : start + 1);
    constexpr double gap_mm = 0.7, gain_mm = 1.6;
    const auto in_px = [&](double mm) { return static_cast<float>(toll * mm / mm_per_px_); };
    const Tolls tolls{static_cast<float>(toll), in_px(gap_mm), static_cast<float>(0.5 * toll),
                      static_cast<float>(mm_per_px_ / memory_mm), in_px(gain_mm)};

    std::vector<Paths> now(slope_count, Paths(n)), before = now;
    const int blocks = (length + block_rows - 1) / block_rows;
    // Whether any path leads to a place of the block: one row a slope, with an empty slope at either end.
    cv::Mat alive = cv::Mat::zeros(slope_count + 2, blocks, CV_8U), alive_before = alive.clone();
    std::vector<std::uint8_t> came(static_cast<std::size_t>(columns) * slope_count * n, rooted);
    std::array<std::int32_t, block_rows> came_now{};
    const auto came_at = [&](int j, int k) {
        return came.data() + (static_cast<std::size_t>(j) * slope_count + static_cast<std::size_t>(k)) * n;
    };
    // Whether a path of the column before, of this slope or its neighbours, is in the first or last block.
    const auto leads_on = [&](int k, int first, int last) {
        for (int slope = k; slope < k + 3; ++slope) {
            const auto* row = alive_before.ptr<uchar>(slope);
            if (row[first] || row[last]) return true;
        }
        return false;
    };
    struct End {
        int j, k, x;
    };
    std::vector<End> ends;
    cv::Mat places, floors;
    cv::transpose(roots.rowRange(rows), places);
    places.convertTo(floors, CV_32F, -2.0 * never, 2.0 * never);
    constexpr int lanes = cv::v_float32::nlanes;
    for (int j = 0; j < columns; ++j) {
        const int y = start + side * j;
        const auto* rooted_here = places.ptr<uchar>(y);
        for (int k = 0; k < slope_count; ++k) {
            const auto here = static_cast<std::size_t>(k);
            // To the left, columns run down, and slopes the other way.
            const auto* evidence =
                evidence_[side > 0 ? here : slopes.size() - 1 - here].ptr<float>(y) + rows.start;
            const int shift = shift_at(slopes[here], j);
            const int from = std::clamp(shift, 0, length), to = std::clamp(length + shift, 0, length);
            Paths& paths = now[here];
            auto* kept = came_at(j, k);
            for (int block = 0; block < blocks; ++block) {
                const int block_from = block * block_rows,
                          block_to = std::min(length, block_from + block_rows);
                std::fill(paths.gain.begin() + block_from, paths.gain.begin() + block_to, never);
                auto& lives = alive.at<uchar>(k + 1, block) = 0;
                int first = std::max(from, block_from);
                const int last = std::min(to, block_to);
                if (first >= last) continue;
                if (!leads_on(k, (first - shift) / block_rows, (last - 1 - shift) / block_rows) &&
                    std::find(rooted_here + first, rooted_here + last, uchar{1}) == rooted_here + last)
                    continue;
                // A whole vector at the least: what is done twice comes out the same.
                first = std::clamp(last - lanes, from, first);
                lives =
                    lengthen(paths, static_cast<std::size_t>(first), static_cast<std::size_t>(first - shift),
                             static_cast<std::size_t>(last - first), k > 0 ? &before[here - 1] : nullptr,
                             before[here], k + 1 < slope_count ? &before[here + 1] : nullptr,
                             evidence + first, floors.ptr<float>(y) + first,
                             static_cast<float>(std::hypot(1.0, slopes[here])), tolls, came_now.data());
                for (int x = first; x < last; ++x) {
                    const auto how = static_cast<std::uint8_t>(came_now[static_cast<std::size_t>(x - first)]);
                    kept[x] = how;
                    if ((how & may_end) && x >= block_from) ends.push_back({j, k, x});
                }
            }
        }
        std::swap(now, before);
        std::swap(alive, alive_before);
    }
    // From the farthest end inward: whatever leads back along a path already walked adds nothing.
    cv::Mat walked = cv::Mat::zeros(columns, length, CV_8U);
    for (auto end = ends.rbegin(); end != ends.rend(); ++end) {
        auto [j, k, x] = *end;
        while (j >= 0 && x >= 0 && x < length && !walked.at<uchar>(j, x)) {
            walked.at<uchar>(j, x) = 1;
            auto& r = reach[static_cast<std::size_t>(x)];
            r = side > 0 ? std::max(r, start + j) : std::min(r, start - j);
            const int how = came_at(j, k)[x] & way;
            if (how == rooted) break;
            x -= shift_at(slopes[static_cast<std::size_t>(k)], j);
            k += how - from_same;
            --j;
        }
    }
    return reach;
}

}  // namespace frayhold::gauge
