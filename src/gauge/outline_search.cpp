// SPDX-License-Identifier: Apache-2.0
#include "gauge/outline_search.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <optional>
#include <utility>

#include "gauge/open_outline.h"

namespace frayhold::gauge {
namespace {

using Corner = OutlineSearch::Corner;
using CornersByEnd = OutlineSearch::CornersByEnd;
using End = OutlineSearch::End;

// A lattice, as tiles, a grating or a keyboard are, closes in more rounds than can be looked at: then those
// with the longest sides come first. A bench without one takes some ten thousand looks, this many some tenths
// of a second. An outline, which is judged and held against others, costs as much as so many looks.
constexpr std::size_t most_looks = 20'000'000, looks_an_outline = 100;
constexpr double least_side_px = 36.0;

bool can_be_side(cv::Point2d side) {
    return side.dot(side) >= least_side_px * least_side_px;
}

// Sides that lie opposite on a card differ only by how much nearer one is: at 150 mm, where a card fills the
// picture, and tilted by 60 degrees, by 1.65.
bool can_be_opposite(cv::Point2d a, cv::Point2d b) {
    constexpr double most_apart = 1.8;
    const double aa = a.dot(a), bb = b.dot(b);
    return aa <= most_apart * most_apart * bb && bb <= most_apart * most_apart * aa;
}

// From the run's other end towards this one.
cv::Point2d way_from(const StraightRun& run, End end) {
    return end % 2 ? run.along : -run.along;
}

std::optional<cv::Point2d> meeting(const StraightRun& a, const StraightRun& b) {
    const double sine = a.along.cross(b.along);
    constexpr double least_sine = 0.5;  // 30 degrees: the flattest corner of a card seen at a slant
    if (std::abs(sine) < least_sine) return std::nullopt;
    return a.from + a.along * ((b.from - a.from).cross(b.along) / sine);
}

// Which end of the run is drawn out, or slightly cut short, to reach the corner. Empty where it runs on past
// it.
std::optional<std::size_t> reaching_end(const StraightRun& run, cv::Point2d corner) {
    const double length = run.length, t = (corner - run.from).dot(run.along);
    const bool at_from = t < length / 2;
    const double beyond = at_from ? -t : t - length;
    if (beyond > 0.5 * length + 12 || beyond < -(0.06 * length + 4)) return std::nullopt;
    return at_from ? 0 : 1;
}

// Corners by each end of each run.
CornersByEnd corners_of(const std::vector<StraightRun>& runs) {
    // No corner lies further from a run's middle than its length and a little (see reaching_end).
    constexpr float little_px = 12.F;
    std::vector<cv::Point2f> middles;
    std::vector<float> reaches;
    for (const StraightRun& run : runs) {
        middles.emplace_back((run.from + run.to) / 2);
        reaches.push_back(static_cast<float>(run.length) + little_px);
    }
    CornersByEnd corners(2 * runs.size());
    for (std::size_t i = 0; i < runs.size(); ++i)
        for (std::size_t j = i + 1; j < runs.size(); ++j) {
            const cv::Point2f apart = middles[i] - middles[j];
            const float reach = reaches[i] + reaches[j];
            if (apart.dot(apart) > reach * reach) continue;
            const auto at = meeting(runs[i], runs[j]);
            if (!at) continue;
            const auto a = reaching_end(runs[i], *at), b = reaching_end(runs[j], *at);
            if (!a || !b) continue;
            corners[2 * i + *a].push_back({2 * j + *b, *at});
            corners[2 * j + *b].push_back({2 * i + *a, *at});
        }
    return corners;
}

// Of these what can be part of a round. Runs that lack a corner at either end, as the grain of a board does,
// are left without any, and so are in turn those that met only them.
CornersByEnd closing(CornersByEnd corners) {
    std::vector<End> lacking;
    for (End end = 0; end < corners.size(); ++end)
        if (corners[end].empty()) lacking.push_back(end);
    while (!lacking.empty()) {
        const End alone = lacking.back() ^ 1U;
        lacking.pop_back();
        for (const Corner& corner : std::exchange(corners[alone], {})) {
            auto& theirs = corners[corner.other];
            std::erase_if(theirs, [&](const Corner& c) { return c.other == alone; });
            if (theirs.empty()) lacking.push_back(corner.other);
        }
    }
    return corners;
}

// The outline whose sides are the four runs in turn, in pixels of the reduced picture, if it can be a flat
// card.
std::optional<Outline> outline_of(std::array<cv::Point2d, 4> corners, std::array<const StraightRun*, 4> sides,
                                  cv::Size picture) {
    if ((corners[1] - corners[0]).cross(corners[2] - corners[1]) < 0) {
        // Side i lies between corners i and i + 1.
        std::swap(corners[0], corners[3]);
        std::swap(corners[1], corners[2]);
        std::swap(sides[0], sides[2]);
    }
    if (!can_be_outline(corners, picture)) return std::nullopt;
    double length = 0.0, seen = 0.0;
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d a = corners[i], b = corners[(i + 1) % 4];
        constexpr double least_seen = 0.3;
        const double side = cv::norm(b - a);
        const cv::Point2d along = (b - a) / side;
        double from = along.dot(sides[i]->from - a), to = along.dot(sides[i]->to - a);
        if (from > to) std::swap(from, to);
        const double density = sides[i]->seen_px / sides[i]->length;
        const double covered = density * (std::min(to, side) - std::max(from, 0.0));
        if (side < least_side_px || covered < least_seen * side) return std::nullopt;
        length += side;
        seen += covered;
    }
    return Outline{corners, seen / length};
}

bool near_double(const Outline& a, const Outline& b) {
    constexpr double near_px = 1.5;
    for (std::size_t shift = 0; shift < 4; ++shift) {
        bool all = true;
        for (std::size_t i = 0; i < 4 && all; ++i)
            all = cv::norm(a.corners_px[i] - b.corners_px[(i + shift) % 4]) < near_px;
        if (all) return true;
    }
    return false;
}

PinHole camera_of(const ReducedPicture& reduced, const CameraPrior& prior) {
    const cv::Point2d half(0.5, 0.5);
    return {std::exp(prior.log_focal) / reduced.factor, (prior.centre_px + half) / reduced.factor - half};
}

// Rounds of three runs, the best seen first.
std::vector<OpenOutline> open_outlines(const std::vector<StraightRun>& runs, const CornersByEnd& corners,
                                       const PinHole& camera) {
    constexpr std::size_t most = 1500, most_tried = 2'000'000;
    std::size_t tried = 0;
    const auto side_from = [&](const Corner& corner) {
        const StraightRun& run = runs[corner.other / 2];
        return SeenSide{corner.at, corner.other % 2 ? run.from : run.to, run.seen_px};
    };
    std::vector<OpenOutline> open;
    // As in closed(), of a lattice those with the longest runs between the two sides.
    for (std::size_t i = 0; i < runs.size() && tried < most_tried; ++i) {
        tried += corners[2 * i].size() * corners[2 * i + 1].size();
        for (const Corner& a : corners[2 * i])
            for (const Corner& b : corners[2 * i + 1])
                if (a.other / 2 != b.other / 2)
                    add_open_outlines({side_from(a), side_from(b)}, runs[i].seen_px, camera, open);
    }
    const auto kept = open.begin() + static_cast<std::ptrdiff_t>(std::min(open.size(), most));
    std::partial_sort(open.begin(), kept, open.end(), [](const OpenOutline& a, const OpenOutline& b) {
        return a.seen_px * b.length_px > b.seen_px * a.length_px;
    });
    open.erase(kept, open.end());
    return open;
}

// Best supported first, near doubles left out, in pixels of the full picture.
std::vector<Outline> best_of(std::vector<Outline> outlines, const ReducedPicture& reduced) {
    std::sort(outlines.begin(), outlines.end(),
              [](const Outline& a, const Outline& b) { return a.support > b.support; });
    constexpr std::size_t most_outlines = 300;
    std::vector<Outline> kept;
    for (const Outline& outline : outlines) {
        if (kept.size() == most_outlines) break;
        if (std::none_of(kept.begin(), kept.end(), [&](const Outline& k) { return near_double(k, outline); }))
            kept.push_back(outline);
    }
    for (Outline& outline : kept)
        for (cv::Point2d& corner : outline.corners_px) corner = reduced.full_px(corner);
    return kept;
}

}  // namespace

OutlineSearch::OutlineSearch(const ReducedPicture& reduced)
    : reduced_(reduced),
      slopes_(evened_slopes(reduced.bgr)),
      runs_(find_straight_runs(slopes_)),
      met_(corners_of(runs_)) {}

std::vector<Outline> OutlineSearch::closed() const {
    const CornersByEnd corners = closing(met_);
    const auto runs_at = [&](End end) -> const StraightRun& { return runs_[end / 2]; };
    std::vector<Outline> outlines;
    // Where c's far end meets b's, for the a and b in hand.
    std::vector<const Corner*> met_b(corners.size(), nullptr);
    std::size_t looks = 0;
    // Rounds a - b - c - d, each found once: a is the lowest run of the four, and b lies at its `from`.
    for (End a = 0; a < corners.size() && looks < most_looks; a += 2)
        for (const Corner& ab : corners[a]) {
            const End b_far = ab.other ^ 1U;
            if (b_far < a) continue;
            for (const Corner& bc : corners[b_far])
                if (bc.other > a + 1 && can_be_side(bc.at - ab.at)) met_b[bc.other ^ 1U] = &bc;
            const double side = runs_at(a).along.cross(way_from(runs_at(b_far), b_far));
            for (const Corner& da : corners[a + 1]) {
                const End d_far = da.other ^ 1U;
                if (d_far < a || d_far / 2 == b_far / 2 || !can_be_side(da.at - ab.at) ||
                    runs_at(a).along.cross(way_from(runs_at(d_far), d_far)) * side <= 0)
                    continue;
                looks += corners[d_far].size();
                for (const Corner& cd : corners[d_far]) {
                    const Corner* bc = met_b[cd.other];
                    if (!bc || !can_be_opposite(bc->at - cd.at, da.at - ab.at) ||
                        !can_be_opposite(bc->at - ab.at, cd.at - da.at))
                        continue;
                    const auto outline =
                        outline_of({da.at, ab.at, bc->at, cd.at},
                                   {&runs_at(a), &runs_at(b_far), &runs_at(cd.other), &runs_at(d_far)},
                                   slopes_.dx.size());
                    if (!outline) continue;
                    outlines.push_back(*outline);
                    looks += looks_an_outline;
                }
            }
            for (const Corner& bc : corners[b_far]) met_b[bc.other ^ 1U] = nullptr;
        }
    return best_of(std::move(outlines), reduced_);
}

std::vector<Outline> OutlineSearch::completed(const CameraPrior& prior) const {
    std::vector<Outline> outlines;
    for (const OpenOutline& open : open_outlines(runs_, met_, camera_of(reduced_, prior)))
        add_completed(slopes_, open, outlines);
    return best_of(std::move(outlines), reduced_);
}

}  // namespace frayhold::gauge
