// SPDX-License-Identifier: Apache-2.0
#include "gauge/fibre_tracing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <opencv2/core.hpp>
#include <opencv2/core/hal/intrin.hpp>
#include <optional>

namespace frayhold::gauge {
namespace {

constexpr auto& slopes = LineEvidence::slopes;
constexpr int slope_count = LineEvidence::slope_count;
constexpr float never = -1e9F;

int shift_at(double slope, int column) {
    return static_cast<int>(std::lround(slope * column)) -
           static_cast<int>(std::lround(slope * (column - 1)));
}

// The best path to each place of one column at one slope.
struct Paths {
    std::vector<float> gain, best;  // now, and at its best so far
    explicit Paths(std::size_t n) : gain(n, never), best(n, never) {}
};

struct Tolls {
    float toll, gap, bend, least_gain;
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
    const cv::v_float32 length = all(step), toll = all(tolls.toll), loss = all(-tolls.toll),
                        gap = all(tolls.gap), bend = all(tolls.bend), least_gain = all(tolls.least_gain),
                        none = all(never), zero = all(0.0F);
    constexpr std::size_t lanes = cv::v_float32::nlanes;
    cv::v_float32 most = none;
    for (std::size_t at = 0; at < count; at += lanes) {
        const std::size_t i = std::min(at, count - lanes), from = shifted + i, into = first + i;
        cv::v_float32 g = cv::vx_load(&same.gain[from]), b = cv::vx_load(&same.best[from]);
        cv::v_int32 how = all_int(from_same);
        const auto consider = [&](const Paths& paths, std::int32_t as) {
            const cv::v_float32 other = cv::vx_load(&paths.gain[from]) - bend;
            const cv::v_float32 better = other > g;
            g = cv::v_select(better, other, g);
            b = cv::v_select(better, cv::vx_load(&paths.best[from]), b);
            how = cv::v_select(cv::v_reinterpret_as_s32(better), all_int(as), how);
        };
        consider(under, from_below);
        consider(over, from_above);
        const cv::v_float32 z = cv::vx_load(evidence + i);
        g = g + length * cv::v_min(toll, cv::v_max(loss, z - toll));
        b = cv::v_max(g, b);
        g = cv::v_select(g < b - gap, none, g);
        const cv::v_float32 ends = (g >= b) & (g > least_gain);
        how = how | (cv::v_reinterpret_as_s32(ends) & all_int(may_end));
        const cv::v_float32 starts = g < cv::vx_load(floor + i);
        g = cv::v_select(starts, zero, g);
        most = cv::v_max(most, g);
        cv::v_store(&to.gain[into], g);
        cv::v_store(&to.best[into], cv::v_select(starts, zero, b));
        cv::v_store(came + i, cv::v_select(cv::v_reinterpret_as_s32(starts), all_int(rooted), how));
    }
    return cv::v_reduce_max(most) > 0.5F * never;
}

// A place of a path, and the evidence and the length of the step there.
struct Place {
    int column, row;
    float evidence;
    double step_mm;
};

// The fibre at the end of a path that is gone through from there inward.
struct Tip {
    std::size_t past;  // so many places lie beyond it
    double own;        // the fibre's evidence
};

// Where the line that is looked at runs half past the tip, half the fibre's own evidence is left. None where
// the path is too short to tell: it branches off another right at its end, as chance lets many do.
std::optional<Tip> tip_of(const std::vector<Place>& path) {
    constexpr double own_from_mm = LineEvidence::line_mm / 2, own_to_mm = own_from_mm + 2.0;
    double along_mm = 0.0, own = 0.0, own_mm = 0.0;
    for (const Place& place : path) {
        along_mm += place.step_mm;
        if (along_mm > own_to_mm) break;
        if (along_mm < own_from_mm) continue;
        own += place.evidence * place.step_mm;
        own_mm += place.step_mm;
    }
    if (own_mm <= 0.0) return std::nullopt;
    own /= own_mm;
    const auto tip = std::find_if(path.begin(), path.end(),
                                  [&](const Place& place) { return place.evidence >= 0.5 * own; });
    return Tip{static_cast<std::size_t>(tip - path.begin()), own};
}

}  // namespace

FibreTracing::Followed FibreTracing::outermost(const cv::Mat& roots, const std::vector<int>& first_column,
                                               int side, double toll, cv::Range rows) const {
    const int length = rows.size();
    const auto n = static_cast<std::size_t>(length);
    Followed followed{{first_column.begin() + rows.start, first_column.begin() + rows.end}, {}};
    std::vector<int>& reach = followed.column;
    constexpr int least_rows = 24;  // room for the steepest slope and a vector
    if (length < least_rows) return followed;
    const int start = side > 0 ? *std::min_element(reach.begin(), reach.end())
                               : *std::max_element(reach.begin(), reach.end());
    constexpr double reach_mm = 30.0;  // no fibre is looked for farther out
    const int longest = static_cast<int>(reach_mm / mm_per_px_);
    const int columns = std::min(longest, side > 0 ? evidence_.columns() - start : start + 1);
    constexpr double gap_mm = 1.0;
    const auto in_px = [&](double mm) { return static_cast<float>(toll * mm / mm_per_px_); };
    const Tolls tolls{static_cast<float>(toll), in_px(gap_mm), static_cast<float>(0.5 * toll),
                      in_px(least_gain_mm)};

    std::vector<Paths> now(slope_count, Paths(n)), before = now;
    const int blocks = (length + block_rows - 1) / block_rows;
    // Whether any path leads to a place of the block: one row a slope, with an empty slope at either end.
    cv::Mat alive = cv::Mat::zeros(slope_count + 2, blocks, CV_8U), alive_before = alive.clone();
    // How the paths came to the places of each column gone through: slope by slope.
    std::vector<std::vector<std::uint8_t>> came;
    std::array<std::int32_t, block_rows> came_now{};
    // Whether a path of the column before, of this slope or its neighbours, is in the first or last block.
    const auto leads_on = [&](int k, int first, int last) {
        for (int slope = k; slope < k + 3; ++slope) {
            const auto* row = alive_before.ptr<uchar>(slope);
            if (row[first] || row[last]) return true;
        }
        return false;
    };
    // To the left, columns run down, and slopes the other way.
    const auto evidence_at = [&](int j, int k) {
        return evidence_.at_column(start + side * j, side > 0 ? k : slope_count - 1 - k) + rows.start;
    };
    struct End {
        int j, k, x;
    };
    std::vector<End> ends;
    cv::Mat places;
    cv::transpose(roots.rowRange(rows), places);
    int last_rooted = columns - 1;
    while (last_rooted > 0 && cv::countNonZero(places.row(start + side * last_rooted)) == 0) --last_rooted;
    std::vector<float> floor(n);
    constexpr int lanes = cv::v_float32::nlanes;
    for (int j = 0; j < columns; ++j) {
        // Where no path leads on and none begins farther out, no column farther out shows any.
        if (j > last_rooted && cv::countNonZero(alive_before) == 0) break;
        const int y = start + side * j;
        const auto* rooted_here = places.ptr<uchar>(y);
        std::transform(rooted_here, rooted_here + length, floor.begin(),
                       [](uchar root) { return root ? 0.0F : 2.0F * never; });
        came.emplace_back(slopes.size() * n, static_cast<std::uint8_t>(rooted));
        for (int k = 0; k < slope_count; ++k) {
            const auto here = static_cast<std::size_t>(k);
            const auto* evidence = evidence_at(j, k);
            const int shift = shift_at(slopes[here], j);
            const int from = std::clamp(shift, 0, length), to = std::clamp(length + shift, 0, length);
            Paths& paths = now[here];
            auto* kept = came.back().data() + here * n;
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
                lives = lengthen(
                    paths, static_cast<std::size_t>(first), static_cast<std::size_t>(first - shift),
                    static_cast<std::size_t>(last - first), k > 0 ? &before[here - 1] : nullptr, before[here],
                    k + 1 < slope_count ? &before[here + 1] : nullptr, evidence + first, floor.data() + first,
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
    cv::Mat walked = cv::Mat::zeros(std::max(1, static_cast<int>(came.size())), length, CV_8U);
    constexpr double beside_mm = 0.8;  // of a line of the bench: here it is still that line
    const int beside = static_cast<int>(std::lround(beside_mm / mm_per_px_));
    std::vector<Place> path;  // from its end inward
    for (auto end = ends.rbegin(); end != ends.rend(); ++end) {
        auto [j, k, x] = *end;
        path.clear();
        // What runs on to where no fibre reaches is a joint of the bench or its grain.
        const bool runs_on = j + 1 >= longest;
        while (j >= 0 && x >= 0 && x < length && !walked.at<uchar>(j, x)) {
            if (runs_on) {
                auto* row = walked.ptr<uchar>(j);
                std::fill(row + std::max(0, x - beside), row + std::min(length, x + beside + 1), uchar{1});
            } else {
                auto* row = walked.ptr<uchar>(j);
                std::fill(row + std::max(0, x - 1), row + std::min(length, x + 2), uchar{1});
                path.push_back({j, x, evidence_at(j, k)[x],
                                mm_per_px_ * std::hypot(1.0, slopes[static_cast<std::size_t>(k)])});
            }
            const int how = came[static_cast<std::size_t>(j)]
                                [static_cast<std::size_t>(k) * n + static_cast<std::size_t>(x)] &
                            way;
            if (how == rooted) break;
            x -= shift_at(slopes[static_cast<std::size_t>(k)], j);
            k += how - from_same;
            --j;
        }
        const auto tip = tip_of(path);
        if (!tip) continue;
        followed.plainness.push_back(tip->own / toll);
        for (std::size_t i = tip->past; i < path.size(); ++i) {
            auto& r = reach[static_cast<std::size_t>(path[i].row)];
            const int column = start + side * path[i].column;
            r = side > 0 ? std::max(r, column) : std::min(r, column);
        }
    }
    return followed;
}

}  // namespace frayhold::gauge
