// SPDX-License-Identifier: Apache-2.0
#include "gauge/comparison.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <opencv2/imgproc.hpp>

#include "language/later.h"

namespace frayhold::gauge {
namespace {

constexpr double pitch_mm = 1.0;

// At one pitch for every photo: stations are whole rows of pixels, and so a little more or less than a
// millimetre.
cv::Mat at_even_pitch(const WidthProfile& profile, double pitch) {
    cv::Mat even;
    std::size_t k = 0;
    for (double at = profile.station_mm.front(); at <= profile.station_mm.back(); at += pitch) {
        while (k + 2 < profile.station_mm.size() && profile.station_mm[k + 1] < at) ++k;
        const double share =
            (at - profile.station_mm[k]) / (profile.station_mm[k + 1] - profile.station_mm[k]);
        const int row = static_cast<int>(k);
        even.push_back(cv::Mat(profile.look.row(row) * (1 - share) + profile.look.row(row + 1) * share));
    }
    return even;
}

// The quick course of a look along the item: less its mean over a few centimetres, as light falls off.
cv::Mat quick_course(const cv::Mat& look) {
    constexpr int reach = 20;
    cv::Mat slow;
    cv::blur(look, slow, {1, 2 * reach + 1}, {-1, -1}, cv::BORDER_REFLECT);
    return look - slow;
}

// How the earlier look is laid beside the later one.
struct Match {
    bool turned = false;
    int shift = 0;  // stations
    double r = -1.0;
    int overlap = 0;

    // Fisher's z over its standard uncertainty: a short overlap is alike by chance more often than a long
    // one.
    [[nodiscard]] double weight() const { return std::atanh(std::min(r, 0.999)) * std::sqrt(overlap); }
};

// The quick course of one look, with the sums of its squares (an integral picture), so that each of many
// overlaps is told its own in no time.
struct Weave {
    cv::Mat look, squares_before;
    explicit Weave(const cv::Mat& quick) : look(quick) {
        cv::Mat squares = quick.mul(quick), channels;
        cv::transform(squares, channels, cv::Matx13f(1, 1, 1));
        cv::integral(channels, squares_before, CV_64F);
    }
    [[nodiscard]] double squares(const cv::Rect& where) const {
        const auto at = [&](int y, int x) { return squares_before.at<double>(y, x); };
        return at(where.br().y, where.br().x) - at(where.y, where.br().x) - at(where.br().y, where.x) +
               at(where.y, where.x);
    }
};

// Pearson's correlation of what both have, at every shift, with one roll about the item's axis: the later's
// place (row, column) beside the earlier's (row - shift, column - roll).
std::vector<Match> matches_of(const Weave& before, const Weave& after, bool turned, int roll,
                              int least_overlap) {
    std::vector<Match> matches;
    const int columns = after.look.cols - std::abs(roll);
    const int from_column = std::max(0, roll);
    for (int shift = least_overlap - before.look.rows; shift <= after.look.rows - least_overlap; ++shift) {
        const int from = std::max(0, shift), to = std::min(after.look.rows, before.look.rows + shift);
        if (to - from < least_overlap) continue;
        const cv::Rect of_after(from_column, from, columns, to - from),
            of_before(from_column - roll, from - shift, columns, to - from);
        const double norm = std::sqrt(after.squares(of_after) * before.squares(of_before));
        if (norm > 0)
            matches.push_back(
                {turned, shift, after.look(of_after).dot(before.look(of_before)) / norm, to - from});
    }
    return matches;
}

std::optional<Alignment> align(const WidthProfile& earlier, const WidthProfile& later) {
    constexpr int least_overlap = 60, same_place = 4, most_roll = 4;
    constexpr double least_likeness = 0.35, least_lead = 1.1;
    if (earlier.look.rows < 2 || later.look.rows < 2) return std::nullopt;
    // Stations are counted on the bench, and the item stands above it: a near camera sees them drawn out a
    // little.
    constexpr std::array stretches{0.985, 1.0, 1.015};
    const Weave after(quick_course(at_even_pitch(later, pitch_mm)));
    std::vector<Match> matches;
    for (const double stretch : stretches) {
        const cv::Mat quick = quick_course(at_even_pitch(earlier, pitch_mm * stretch));
        cv::Mat end_for_end;
        cv::rotate(quick, end_for_end, cv::ROTATE_180);
        for (const bool turned : {false, true}) {
            const Weave before(turned ? end_for_end : quick);
            for (int roll = -most_roll; roll <= most_roll; ++roll) {
                const auto some = matches_of(before, after, turned, roll, least_overlap);
                matches.insert(matches.end(), some.begin(), some.end());
            }
        }
    }
    if (matches.empty()) return std::nullopt;
    const Match best = *std::max_element(matches.begin(), matches.end(), [](const Match& a, const Match& b) {
        return a.weight() < b.weight();
    });
    double next = 0.0;
    for (const Match& m : matches)
        if (m.turned != best.turned || std::abs(m.shift - best.shift) > same_place)
            next = std::max(next, m.weight());
    if (best.r < least_likeness || best.weight() < least_lead * next) return std::nullopt;
    return Alignment{best.turned, best.shift * pitch_mm, best.r, best.overlap * pitch_mm};
}

Change change_of(Measurand measurand, const Reading* before, const Reading* after) {
    Change change;
    change.measurand = measurand;
    if (before != nullptr) change.before = *before;
    if (after != nullptr) change.after = *after;
    if (before != nullptr && after != nullptr) change.change = change_between(*before, *after);
    return change;
}

}  // namespace

Reading change_between(const Reading& earlier, const Reading& later) {
    return combine(later.measurand, later.value - earlier.value,
                   {{tr_later("the earlier reading"), earlier.u, earlier.dof},
                    {tr_later("the later reading"), later.u, later.dof}},
                   later.outline_px);
}

Comparison compare(const Report& earlier, const Report& later) {
    Comparison comparison;
    if (earlier.profile && later.profile) comparison.alignment = align(*earlier.profile, *later.profile);
    comparison.remark = comparison.alignment ? tr_later("the weave shows that both photos are of one place")
                                             : tr_later(
                                                   "the weave does not show that both photos are of one "
                                                   "place: the changes hold only if they are");
    for (const Reading& after : later.readings)
        if (!is_by_hand(after.measurand))
            comparison.changes.push_back(
                change_of(after.measurand, reading_of(earlier.readings, after.measurand), &after));
    for (const Reading& before : earlier.readings)
        if (!is_by_hand(before.measurand) && reading_of(later.readings, before.measurand) == nullptr)
            comparison.changes.push_back(change_of(before.measurand, &before, nullptr));
    return comparison;
}

}  // namespace frayhold::gauge
