// SPDX-License-Identifier: Apache-2.0
#include "gauge/id1_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "gauge/card_design.h"
#include "gauge/edge_sighting.h"
#include "gauge/outline_search.h"
#include "gauge/quantile.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

using Corners = std::array<cv::Point2d, 4>;

// Formats that lie on benches too, of any scale, long side over short.
constexpr std::array<double, 5> rival_ratios{85.0 / 55.0, 88.9 / 50.8, std::numbers::sqrt2, 1.5, 1.0};
constexpr double id1_ratio = id1_width_mm / id1_height_mm;
// Chi-square of two degrees of freedom: 99 % of true cards stay under it, and 99.9 % under the other, which
// holds where every other format is ruled out.
constexpr double most_chi2 = 9.2, most_chi2_told = 13.8;
// Where one format's chi-square is that much higher, it is ruled out.
constexpr double clear_chi2 = 9.0;
// The geometric mean of the sides of other pocket cards is within 1.1 % of an ID-1 card's (88.9 x 50.8, 85 x
// 55 mm).
constexpr double assumed_u_rel = 0.011 / std::numbers::sqrt3;

// A place where an edge is expected, and the way to the card's inside (unit length).
struct Place {
    cv::Point2d at, inward;
};

// Looks across the expected edge at each place, in the mix of linear colours that differs most between inside
// and outside there, averaged over neighbouring places.
std::vector<std::optional<EdgeSighting>> sight_places(const cv::Mat& bgr, const std::vector<Place>& places,
                                                      double reach_px) {
    constexpr double least_step = 0.012;
    constexpr std::ptrdiff_t neighbours = 3;
    const auto count = static_cast<std::ptrdiff_t>(places.size());
    std::vector<cv::Vec3d> rise(places.size(), cv::Vec3d(0, 0, 0));
    for (std::size_t i = 0; i < places.size(); ++i)
        for (const double share : {0.4, 0.7, 1.0})
            for (int c = 0; c < 3; ++c) {
                cv::Vec3d channel(0, 0, 0);
                channel[c] = 1;
                const cv::Point2d off = places[i].inward * (1.0 + share * reach_px);
                const auto in = light_at(bgr, places[i].at + off, channel),
                           out = light_at(bgr, places[i].at - off, channel);
                if (in && out) rise[i][c] += (*in - *out) / 3;
            }
    std::vector<std::optional<EdgeSighting>> sightings(places.size());
    for (std::ptrdiff_t i = 0; i < count; ++i) {
        cv::Vec3d mix(0, 0, 0);
        for (std::ptrdiff_t k = std::max<std::ptrdiff_t>(0, i - neighbours);
             k < std::min(count, i + neighbours + 1); ++k)
            mix += rise[static_cast<std::size_t>(k)];
        const double size = cv::norm(mix);
        if (size < 1e-6) continue;
        const auto here = static_cast<std::size_t>(i);
        sightings[here] =
            sight_edge(bgr, places[here].at, places[here].inward, reach_px, least_step, mix / size);
    }
    return sightings;
}

// A straight line through sightings along a side, as offsets from it at its two ends, by reweighted least
// squares.
struct SideFit {
    double from_px = 0.0, to_px = 0.0;
    double scale_px = 0.0;
    double seen = 0.0;  // share of places whose sighting lies on the line
};

std::optional<SideFit> line_through(const std::vector<double>& t, const std::vector<double>& offset,
                                    std::size_t looked_for) {
    if (t.size() < 8) return std::nullopt;
    // From the line through two of the sightings that most others agree with: a stripe printed along the side
    // may be as clear as the side itself, and a line between the two is neither.
    double a = 0.0, b = 0.0;
    std::ptrdiff_t most = 0;
    const std::size_t stride = std::max<std::size_t>(1, t.size() / 24);
    for (std::size_t i = 0; i < t.size() / 2; i += stride)
        for (std::size_t j = t.size() / 2; j < t.size(); j += stride) {
            const double slope = (offset[j] - offset[i]) / (t[j] - t[i]), start = offset[i] - slope * t[i];
            std::ptrdiff_t agree = 0;
            for (std::size_t k = 0; k < t.size(); ++k)
                agree += std::abs(offset[k] - start - slope * t[k]) < 0.7;
            if (agree > most) most = agree, a = start, b = slope;
        }
    std::vector<double> size(t.size());
    double scale = 0.7 / 3;
    for (int round = 0; round < 8; ++round) {
        for (std::size_t i = 0; i < t.size(); ++i) size[i] = std::abs(offset[i] - a - b * t[i]);
        double w0 = 0, w1 = 0, w2 = 0, y0 = 0, y1 = 0;
        for (std::size_t i = 0; i < t.size(); ++i) {
            const double x = size[i] / (4.685 * scale);
            const double w = x < 1 ? (1 - x * x) * (1 - x * x) : 0.0;
            w0 += w;
            w1 += w * t[i];
            w2 += w * t[i] * t[i];
            y0 += w * offset[i];
            y1 += w * offset[i] * t[i];
        }
        const double det = w0 * w2 - w1 * w1;
        if (det < 1e-6 * w0 * w0) return std::nullopt;
        a = (w2 * y0 - w1 * y1) / det;
        b = (w0 * y1 - w1 * y0) / det;
        std::vector<double> agreeing;
        for (const double r : size)
            if (r < 4.685 * scale) agreeing.push_back(r);
        scale = std::max(0.05, 1.4826 * median(std::move(agreeing)));
    }
    const auto on_line = std::count_if(size.begin(), size.end(), [&](double r) { return r < 3 * scale; });
    return SideFit{a, a + b, scale, static_cast<double>(on_line) / static_cast<double>(looked_for)};
}

struct SharpOutline {
    Corners corners_px;
    double corner_u_px = 0.0;
};

// The outline again in the full picture: corners where straight lines through its sides meet. Each round
// looks as far off its sides as told.
std::optional<SharpOutline> sharpened(const cv::Mat& bgr, Corners corners,
                                      const std::array<double, 3>& reaches_px) {
    constexpr double least_side_seen = 0.35, least_seen = 0.55, most_scale_px = 1.2;
    SharpOutline sharp;
    bool believable = false;
    for (const double reach_px : reaches_px) {
        Corners ends_from, ends_to;
        double seen = 0.0, scale2 = 0.0, least = 1.0, fewest = 1e9;
        for (std::size_t i = 0; i < 4; ++i) {
            const cv::Point2d from = corners[i], along = corners[(i + 1) % 4] - from;
            const double length = cv::norm(along);
            const cv::Point2d inward = cv::Point2d(-along.y, along.x) / length;
            // Clear of the rounding (3.18 mm) of a card whichever way it lies: 3.18 / 53.98 and a little.
            constexpr double clear = 0.085;
            const int count = std::clamp(static_cast<int>(length / 4), 24, 90);
            std::vector<Place> places;
            std::vector<double> at;
            for (int k = 0; k <= count; ++k) {
                at.push_back(clear + (1 - 2 * clear) * k / count);
                places.push_back({from + along * at.back(), inward});
            }
            const auto sightings = sight_places(bgr, places, reach_px);
            std::vector<double> t, offset;
            for (std::size_t k = 0; k < places.size(); ++k)
                if (sightings[k]) t.push_back(at[k]), offset.push_back(sightings[k]->offset_px);
            const auto line = line_through(t, offset, places.size());
            if (!line) return std::nullopt;
            ends_from[i] = from + inward * line->from_px;
            ends_to[i] = from + along + inward * line->to_px;
            seen += line->seen / 4;
            least = std::min(least, line->seen);
            scale2 = std::max(scale2, line->scale_px * line->scale_px);
            fewest = std::min(fewest, line->seen * count);
        }
        for (std::size_t i = 0; i < 4; ++i) {
            const std::size_t before = (i + 3) % 4;
            const cv::Point2d a = ends_to[before] - ends_from[before], b = ends_to[i] - ends_from[i];
            const double sine = a.cross(b);
            if (std::abs(sine) < 1e-3) return std::nullopt;
            corners[i] = ends_from[before] + a * ((ends_from[i] - ends_from[before]).cross(b) / sine);
        }
        // A line's end is twice as doubtful as its middle; one sighting in three is news. The floor: worn,
        // bevelled edges and what the lens leaves of curvature.
        constexpr double floor_px = 0.2, noise_correlation = 3.0;
        sharp = {corners, std::hypot(floor_px, 2 * std::sqrt(2 * scale2 * noise_correlation / fewest))};
        believable = least > least_side_seen && seen > least_seen && scale2 < most_scale_px * most_scale_px;
    }
    if (!believable) return std::nullopt;
    return sharp;
}

// Two observations for each corner of a rectangle of that size.
std::vector<Observation> corner_observations(const Corners& corners_px, double width_mm, double height_mm) {
    const Corners bench{cv::Point2d(0, 0), {width_mm, 0}, {width_mm, height_mm}, {0, height_mm}};
    std::vector<Observation> seen;
    for (std::size_t i = 0; i < 4; ++i)
        for (const cv::Point2d across : {cv::Point2d(1, 0), cv::Point2d(0, 1)})
            seen.push_back({bench[i], corners_px[i], across});
    return seen;
}

// Turned by a quarter where need be, so that a long side of a card could come first; empty where its rough
// shape, for no focal length that the camera may have, comes near. Hartley & Zisserman, 8.8: with H = [h1 h2
// h3] from a unit square, the sides are as |K^-1 h1| to |K^-1 h2|, and the two are square to each other.
std::optional<Corners> long_side_first(const Corners& corners, double corner_u_px, const CameraPrior& prior) {
    // The smaller an outline, the less its corners tell of how it is tilted.
    double side_px = 1e9;
    for (std::size_t i = 0; i < 4; ++i)
        side_px = std::min(side_px, cv::norm(corners[(i + 1) % 4] - corners[i]));
    const double tilt_u = std::min(0.5, corner_u_px * std::exp(prior.log_focal) / (side_px * side_px));
    const double most_off = 0.2 + tilt_u, most_skew = 0.25 + tilt_u;
    const std::vector<cv::Point2f> square{{0, 0}, {1, 0}, {1, 1}, {0, 1}};
    std::vector<cv::Point2f> picture;
    for (const cv::Point2d corner : corners) picture.emplace_back(corner - prior.centre_px);
    const cv::Matx33d h = cv::getPerspectiveTransform(square, picture);
    for (const double spread : {0.0, -2.0, 2.0}) {
        const double f = std::exp(prior.log_focal + spread * prior.log_focal_u);
        const cv::Vec3d a(h(0, 0) / f, h(1, 0) / f, h(2, 0)), b(h(0, 1) / f, h(1, 1) / f, h(2, 1));
        const double ratio = cv::norm(a) / cv::norm(b), skew = a.dot(b) / (cv::norm(a) * cv::norm(b));
        if (std::abs(skew) > most_skew) continue;
        if (std::abs(std::log(ratio / id1_ratio)) < most_off) return corners;
        if (std::abs(std::log(ratio * id1_ratio)) < most_off)
            return Corners{corners[1], corners[2], corners[3], corners[0]};
    }
    return std::nullopt;
}

// Linear blue, green and red about that place, averaged over half a millimetre of the card's plane.
std::optional<cv::Vec3d> light_about(const cv::Mat& bgr, const View& view, cv::Point2d at_mm) {
    constexpr double reach_mm = 0.25;
    cv::Vec3d sum(0, 0, 0);
    for (const double dx : {-reach_mm, 0.0, reach_mm})
        for (const double dy : {-reach_mm, 0.0, reach_mm})
            for (int c = 0; c < 3; ++c) {
                cv::Vec3d channel(0, 0, 0);
                channel[c] = 1;
                const auto light =
                    light_at(bgr, view.picture_from_bench(at_mm + cv::Point2d(dx, dy)), channel);
                if (!light) return std::nullopt;
                sum[c] += *light / 9;
            }
    return sum;
}

// Whether what lies between a round corner and the square one drawn out from its sides is bench, not card:
// nearer in colour to what lies beyond both sides close by than to what lies within the arc. Where the lines
// of a lattice, of tiles or of a board cross, it is what lies within (common practice, no source; held to
// real photographs without a card). `inward` is the way from the corner to the card's inside, one along
// either side.
bool bench_in_corner(const cv::Mat& bgr, const View& view, cv::Point2d corner_mm, cv::Point2d inward) {
    constexpr double r = id1_corner_radius_mm, past_rounding_mm = r + 1.5, off_mm = 0.8;
    const auto about = [&](double x, double y) {
        return light_about(bgr, view, corner_mm + cv::Point2d(x * inward.x, y * inward.y));
    };
    // Half-way between arc and corner, across the diagonal.
    const double gap = r * (1 - 1 / std::numbers::sqrt2) / 2, within = 2 * gap + off_mm / std::numbers::sqrt2;
    const auto between = about(gap, gap), card = about(within, within),
               one = about(past_rounding_mm, -off_mm), other = about(-off_mm, past_rounding_mm);
    if (!between || !card || !one || !other) return false;
    const cv::Vec3d bench = (*one + *other) / 2, step = *card - bench;
    const double share = (*between - bench).dot(step) / std::max(step.dot(step), 1e-9);
    // What lies beyond one side must be nearly as far from the card as what lies beyond the other, or it is
    // not one bench: at most three quarters as far from the mean of both as the card is.
    constexpr double most_unlike = 1.5;
    return share < 0.5 && cv::norm(*one - *other) < most_unlike * cv::norm(step);
}

// Which corners are rounded by 3.18 mm where the view puts them: an edge is looked for close to the arc, and
// must keep the same distance from it. A square corner would lie 0.7 to 1.3 mm further out, and print crosses
// the arc.
std::array<bool, 4> round_corners(const cv::Mat& bgr, const View& view) {
    constexpr double r = id1_corner_radius_mm;
    std::array<bool, 4> round{};
    for (std::size_t corner = 0; corner < 4; ++corner) {
        const bool right = corner == 1 || corner == 2, low = corner >= 2;
        const cv::Point2d centre(right ? id1_width_mm - r : r, low ? id1_height_mm - r : r);
        std::vector<Place> places;
        for (double angle = 33; angle <= 57.5; angle += 2) {
            const double radians = angle * CV_PI / 180;
            const cv::Point2d outward(std::cos(radians) * (right ? 1 : -1),
                                      std::sin(radians) * (low ? 1 : -1));
            // The image of the arc's normal; across it, as the picture shows it.
            const cv::Point2d at = view.picture_from_bench(centre + outward * r);
            const cv::Point2d inward = view.picture_from_bench(centre + outward * (r - 0.2)) - at;
            places.push_back({at, inward / cv::norm(inward)});
        }
        const double px_per_mm = 1 / view.mm_per_px(centre);
        const double reach_px = std::max(0.4 * px_per_mm, 1.6), even_px = std::max(0.12 * px_per_mm, 0.5);
        std::vector<double> offsets;
        for (const auto& sighting : sight_places(bgr, places, reach_px))
            if (sighting) offsets.push_back(sighting->offset_px);
        const double middle = median(offsets);
        const auto even = std::count_if(offsets.begin(), offsets.end(),
                                        [&](double offset) { return std::abs(offset - middle) < even_px; });
        constexpr double least_share = 0.6;
        round[corner] =
            static_cast<double>(even) >= least_share * static_cast<double>(places.size()) &&
            bench_in_corner(bgr, view, id1_corners_mm[corner], cv::Point2d(right ? -1 : 1, low ? -1 : 1));
    }
    return round;
}

// All four sides by one view, as the printed card's edges are. Empty where it does not hold together.
std::optional<ViewFit> fit_sides(const cv::Mat& bgr, const ViewFitter& fitter, View view) {
    constexpr double clear_mm = id1_corner_radius_mm + 1.0, spacing_mm = 0.6, least_scale_px = 0.02;
    const Corners& bench = id1_corners_mm;
    std::vector<Observation> seen;
    std::vector<double> widths;
    int looked_for = 0;
    for (const double reach_px : {3.5, 2.5}) {
        seen.clear();
        widths.clear();
        looked_for = 0;
        for (std::size_t i = 0; i < 4; ++i) {
            const double length = cv::norm(bench[(i + 1) % 4] - bench[i]);
            const cv::Point2d along = (bench[(i + 1) % 4] - bench[i]) / length;
            std::vector<Place> places;
            std::vector<cv::Point2d> points;
            for (double at = clear_mm; at <= length - clear_mm; at += spacing_mm) {
                points.push_back(bench[i] + along * at);
                const cv::Point2d px = view.picture_from_bench(points.back());
                const cv::Point2d tangent = view.picture_from_bench(points.back() + along * 0.2) - px;
                places.push_back({px, cv::Point2d(-tangent.y, tangent.x) / cv::norm(tangent)});
            }
            const auto sightings = sight_places(bgr, places, reach_px);
            looked_for += static_cast<int>(places.size());
            for (std::size_t k = 0; k < places.size(); ++k) {
                if (!sightings[k]) continue;
                seen.push_back(
                    {points[k], places[k].at + places[k].inward * sightings[k]->offset_px, places[k].inward});
                widths.push_back(sightings[k]->width_px);
            }
        }
        if (seen.size() < 40) return std::nullopt;
        view = fitter.refined(view, seen, least_scale_px);
    }
    constexpr double noise_correlation = 3.0, least_seen = 0.5;
    // A card's side is cut straight; lines of print and of weave are not. Of a near card its wear is seen.
    const double straight_px = std::clamp(0.04 / view.mm_per_px(id1_middle_mm), 0.5, 1.2);
    const double scale = fitter.scale_px(view, seen, least_scale_px);
    ViewFit fit = fitter.concluded(view, seen, looked_for, scale, noise_correlation);
    fit.edge_width_px = median(widths);
    if (std::max(scale, fit.rms_px) > straight_px || fit.seen_fraction < least_seen) return std::nullopt;
    return fit;
}

// From the corner whose long side runs rightward, or downward where it stands upright.
Corners turned_upright(const Corners& c) {
    const cv::Point2d along = c[1] - c[0];
    const bool backward = std::abs(along.x) > 0.2 * std::abs(along.y) ? along.x < 0 : along.y < 0;
    return backward ? Corners{c[2], c[3], c[0], c[1]} : c;
}

struct Verdict {
    std::optional<Id1Finding> finding;
    double chi2 = 0.0;
    // Where but for one side it could be a card: the sides that may be the one, and whether the true one must
    // lie further out.
    std::vector<std::size_t> doubtful_sides;
    bool further_out = false;
    double px_per_mm = 0.0;
};

Verdict judged(const cv::Mat& bgr, const ViewFitter& fitter, const SharpOutline& outline) {
    const auto chi2_of = [&](const View& view, double height_mm) {
        return fitter.cost(view, corner_observations(outline.corners_px, id1_width_mm, height_mm),
                           outline.corner_u_px);
    };
    const auto view_of = [&](double height_mm) {
        return fitter.from_points(corner_observations(outline.corners_px, id1_width_mm, height_mm),
                                  outline.corner_u_px);
    };
    const auto view = view_of(id1_height_mm);
    constexpr double most_tilt = 60 * std::numbers::pi / 180;
    if (!view || view->tilt() > most_tilt) return {};
    Verdict verdict;
    verdict.px_per_mm = 1 / view->mm_per_px(id1_middle_mm);
    // The gap between a round corner and a square one, 1.3 mm, must be four pixels at least to be told: blur
    // and JPEG take a pixel and a half on either side.
    constexpr double least_px_per_mm = 4.0 / 1.3;
    if (verdict.px_per_mm < least_px_per_mm) return verdict;
    const auto round = round_corners(bgr, *view);
    const auto how_many = std::count(round.begin(), round.end(), true);
    for (std::size_t side = 0; side < 4; ++side)
        if (how_many == 2 && !round[side] && !round[(side + 1) % 4])
            verdict.doubtful_sides = {side}, verdict.further_out = true;

    const double chi2 = verdict.chi2 = chi2_of(*view, id1_height_mm);
    if (how_many < 3) return verdict;
    double rival = 1e9;
    for (const double ratio : rival_ratios)
        if (const auto other = view_of(id1_width_mm / ratio))
            rival = std::min(rival, chi2_of(*other, id1_width_mm / ratio));
    const bool told = rival > chi2 + clear_chi2;
    if (chi2 > (told ? most_chi2_told : most_chi2)) {
        verdict.doubtful_sides = {0, 1, 2, 3};
        return verdict;
    }
    if (rival + clear_chi2 < chi2) return verdict;
    auto fit = fit_sides(bgr, fitter, *view);
    if (!fit) return verdict;
    verdict.finding = Id1Finding{std::move(*fit), told ? id1_size_u_rel : assumed_u_rel,
                                 told ? tr_later("a plain card, told by its shape and round corners")
                                      : tr_later("taken for an ID-1 card of 85.60 x 53.98 mm: seen like "
                                                 "this, other pocket cards look alike")};
    return verdict;
}

// The outline judged; and, where one side is in doubt, again with that side a little off: what was taken for
// it may be a stripe printed along it, or the border of its shadow.
std::optional<Id1Finding> judged_with_care(const cv::Mat& bgr, const ViewFitter& fitter,
                                           const SharpOutline& outline) {
    Verdict first = judged(bgr, fitter, outline);
    if (first.finding) return std::move(first.finding);
    const auto& c = outline.corners_px;
    Verdict best;
    for (const std::size_t from : first.doubtful_sides) {
        const std::size_t to = (from + 1) % 4;
        const cv::Point2d out_from = c[from] - c[(from + 3) % 4], out_to = c[to] - c[(to + 1) % 4];
        for (const double out_mm : {0.6, 1.2, 1.8, 2.4, -0.6, -1.2}) {
            if (first.further_out ? out_mm < 0 : std::abs(out_mm) > 1.2) continue;
            Corners moved = c;
            moved[from] += out_from * (out_mm * first.px_per_mm / cv::norm(out_from));
            moved[to] += out_to * (out_mm * first.px_per_mm / cv::norm(out_to));
            const double reach_px = std::max(2.0, 0.4 * first.px_per_mm);
            const auto sharp = sharpened(bgr, moved, {reach_px, reach_px, reach_px});
            if (!sharp) continue;
            Verdict again = judged(bgr, fitter, *sharp);
            if (again.finding && (!best.finding || again.chi2 < best.chi2)) best = std::move(again);
        }
    }
    return std::move(best.finding);
}

}  // namespace

Result<Id1Finding> find_id1(const cv::Mat& bgr, const ReducedPicture& reduced, const CameraPrior& prior) {
    const ViewFitter fitter(prior);
    std::vector<Corners> looked_at;
    std::vector<Id1Finding> found;
    const auto look_at = [&](const std::vector<Outline>& outlines) {
        constexpr std::size_t most_looked_at = 32;
        const std::size_t enough = looked_at.size() + most_looked_at;
        for (const Outline& outline : outlines) {
            if (looked_at.size() == enough) break;
            const auto rough = long_side_first(outline.corners_px, reduced.factor, prior);
            if (!rough) continue;
            const auto sharp =
                sharpened(bgr, turned_upright(*rough), {3.0 * reduced.factor, 1.5 * reduced.factor, 3.5});
            if (!sharp) continue;
            const auto seen_before = [&](const Corners& c) {
                return cv::norm(c[0] - sharp->corners_px[0]) + cv::norm(c[2] - sharp->corners_px[2]) < 4;
            };
            if (std::any_of(looked_at.begin(), looked_at.end(), seen_before)) continue;
            looked_at.push_back(sharp->corners_px);
            if (auto finding = judged_with_care(bgr, fitter, *sharp)) found.push_back(std::move(*finding));
        }
    };
    const OutlineSearch search(reduced);
    look_at(search.closed());
    if (found.empty()) look_at(search.completed(prior));
    if (found.empty())
        return failed(
            Fault::input, tr_later("card"), "no plain card of ID-1 size is surely seen",
            "lay the printed card, or a plain one, flat beside the item on a bench of another colour");
    const auto best = std::max_element(
        found.begin(), found.end(),
        [](const Id1Finding& a, const Id1Finding& b) { return a.fit.seen_fraction < b.fit.seen_fraction; });
    if (found.size() > 1)
        best->note = best->size_u_rel < assumed_u_rel
                         ? tr_later(
                               "a plain card, told by its shape and round corners; the clearest of several "
                               "outlines that could be one")
                         : tr_later(
                               "taken for an ID-1 card of 85.60 x 53.98 mm, the clearest of several outlines "
                               "that could be one: seen like this, other pocket cards look alike");
    return std::move(*best);
}

}  // namespace frayhold::gauge
