// SPDX-License-Identifier: Apache-2.0
#include "gauge/outline_search.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <utility>

namespace frayhold::gauge {
namespace {

constexpr double least_run_px = 10.0;
constexpr std::size_t most_runs = 1200;

// Edges one pixel wide, with the slope of the channel in which it is steepest.
struct EdgePicture {
    cv::Mat edges, dx, dy;
};

EdgePicture edges_of(const cv::Mat& bgr) {
    cv::Mat smooth, dx3, dy3;
    cv::GaussianBlur(bgr, smooth, {5, 5}, 1.0);
    cv::Sobel(smooth, dx3, CV_16S, 1, 0);
    cv::Sobel(smooth, dy3, CV_16S, 0, 1);
    EdgePicture picture{{}, cv::Mat(bgr.size(), CV_16S), cv::Mat(bgr.size(), CV_16S)};
    for (int y = 0; y < bgr.rows; ++y) {
        const auto *x3 = dx3.ptr<cv::Vec3s>(y), *y3 = dy3.ptr<cv::Vec3s>(y);
        auto *x1 = picture.dx.ptr<short>(y), *y1 = picture.dy.ptr<short>(y);
        for (int x = 0; x < bgr.cols; ++x) {
            int steepest = 0, most = -1;
            for (int c = 0; c < 3; ++c)
                if (const int size = std::abs(x3[x][c]) + std::abs(y3[x][c]); size > most)
                    steepest = c, most = size;
            x1[x] = x3[x][steepest];
            y1[x] = y3[x][steepest];
        }
    }
    // Grain and weave of a bench have edges everywhere: what counts is what stands out from most of them.
    constexpr double faint_share = 0.45, stands_out = 0.94;
    constexpr int least_clear = 45, most_clear = 160;
    std::array<int, most_clear + 1> tally{};
    for (int y = 0; y < bgr.rows; y += 4)
        for (int x = 0; x < bgr.cols; x += 4) {
            const double size = std::hypot(picture.dx.at<short>(y, x), picture.dy.at<short>(y, x));
            ++tally[static_cast<std::size_t>(std::min<double>(size, most_clear))];
        }
    const int all = std::accumulate(tally.begin(), tally.end(), 0);
    int clear = 0;
    for (int below = 0; clear < most_clear && below < stands_out * all; ++clear)
        below += tally[static_cast<std::size_t>(clear)];
    clear = std::max(clear, least_clear);
    cv::Canny(picture.dx, picture.dy, picture.edges, faint_share * clear, clear, true);
    return picture;
}

// A straight run of edge.
struct Run {
    Run(cv::Point2d a, cv::Point2d b, double seen)
        : from(a), to(b), length(cv::norm(b - a)), along((b - a) / length), seen_px(seen) {}

    cv::Point2d from, to;
    double length;
    cv::Point2d along;
    double seen_px;  // length on which edge is seen: less than `length` where it is broken
};

// Takes straight runs out of a region of edge pixels that run about along `angle`, the fullest first: print
// may touch a side, or an arc run into it.
void take_runs(std::vector<cv::Point>& region, double angle, std::vector<Run>& runs) {
    constexpr double spread = 25 * CV_PI / 180, most_aside_px = 1.5;
    std::vector<int> tally;
    while (static_cast<double>(region.size()) >= least_run_px) {
        const cv::Rect box = cv::boundingRect(region);
        const cv::Point2d origin(box.tl());
        const int reach = box.width + box.height;
        // Half a step moves the ends of a line as long as the region by half a pixel, and never less than
        // 0.75 degrees.
        const double step = std::max(2.0 / std::hypot(box.width, box.height), 1.5 * CV_PI / 180);
        int most = 0;
        cv::Point2d normal;
        double offset = 0.0;
        for (double turned = angle - spread; turned <= angle + spread; turned += step) {
            const cv::Point2d across(-std::sin(turned), std::cos(turned));
            tally.assign(static_cast<std::size_t>(2 * reach + 2), 0);
            for (const cv::Point p : region) {
                const int at = reach + cvRound((cv::Point2d(p) - origin).dot(across));
                // A line that falls between two bins counts in either.
                for (const int bin : {at, at + 1})
                    if (const int count = ++tally[static_cast<std::size_t>(bin)]; count > most)
                        most = count, normal = across, offset = bin - reach - 0.5;
            }
        }
        if (most < least_run_px) return;
        const auto aside = [&](cv::Point p) {
            return std::abs((cv::Point2d(p) - origin).dot(normal) - offset) > most_aside_px;
        };
        const auto rest = std::partition(region.begin(), region.end(), aside);
        cv::Vec4d line;
        cv::fitLine(std::vector<cv::Point>(rest, region.end()), line, cv::DIST_L2, 0, 0.01, 0.01);
        const cv::Point2d along(line[0], line[1]), through(line[2], line[3]);
        std::vector<double> places;
        for (auto p = rest; p != region.end(); ++p) places.push_back((cv::Point2d(*p) - through).dot(along));
        std::sort(places.begin(), places.end());
        constexpr double most_gap_px = 5.0;
        for (std::size_t from = 0, i = 1; i <= places.size(); ++i) {
            if (i < places.size() && places[i] - places[i - 1] < most_gap_px) continue;
            const double length = places[i - 1] - places[from];
            if (length >= least_run_px)
                runs.emplace_back(through + along * places[from], through + along * places[i - 1], length);
            from = i;
        }
        region.erase(rest, region.end());
    }
}

// Gathers edge pixels that touch and face alike (Grompone von Gioi et al. 2010, on thinned
// edges).
std::vector<Run> runs_of(EdgePicture& picture) {
    const double alike = std::cos(2 * 22.5 * CV_PI / 180);
    const auto facing = [&](cv::Point p) {  // doubled angle, so that light may lie on either side
        const double dx = picture.dx.at<short>(p), dy = picture.dy.at<short>(p), square = dx * dx + dy * dy;
        return cv::Point2d((dx * dx - dy * dy) / square, 2 * dx * dy / square);
    };
    std::vector<Run> runs;
    std::vector<cv::Point> region;
    constexpr int reach = 1;
    constexpr std::size_t settled = 12;
    const cv::Rect inner(reach, reach, picture.edges.cols - 2 * reach, picture.edges.rows - 2 * reach);
    for (int y = inner.y; y < inner.br().y; ++y)
        for (int x = inner.x; x < inner.br().x; ++x) {
            if (!picture.edges.at<uchar>(y, x)) continue;
            region.assign(1, {x, y});
            picture.edges.at<uchar>(y, x) = 0;
            cv::Point2d sum = facing({x, y});
            for (std::size_t i = 0; i < region.size(); ++i) {
                const cv::Point at = region[i];
                for (int v = -reach; v <= reach; ++v)
                    for (int u = -reach; u <= reach; ++u) {
                        const cv::Point p = at + cv::Point(u, v);
                        if (!inner.contains(p) || !picture.edges.at<uchar>(p)) continue;
                        const cv::Point2d f = facing(p);
                        if (f.dot(sum) < alike * cv::norm(sum)) continue;
                        picture.edges.at<uchar>(p) = 0;
                        // The first few set the direction: it must not follow an arc round.
                        if (region.size() < settled) sum += f;
                        region.push_back(p);
                    }
            }
            take_runs(region, 0.5 * std::atan2(sum.y, sum.x) + CV_PI / 2, runs);
            // What is on no run may be part of one that starts elsewhere.
            for (const cv::Point p : region) picture.edges.at<uchar>(p) = 255;
        }
    return runs;
}

// Adds to each run what lies on its line, nearest first, as one more run: print or a fold may break a side.
// The line follows what it takes in, since short runs tell their direction badly.
void add_joined(std::vector<Run>& runs) {
    const std::size_t single = runs.size();
    for (std::size_t i = 0; i < single; ++i) {
        Run joined = runs[i];
        for (bool grown = true; grown;) {
            grown = false;
            const Run* nearest = nullptr;
            double least_gap = std::max(20.0, 0.7 * joined.length), low = 0, high = joined.length;
            for (std::size_t j = 0; j < single; ++j) {
                constexpr double most_aside_px = 2.0;
                const Run& run = runs[j];
                const cv::Point2d from = run.from - joined.from, to = run.to - joined.from;
                if (std::abs(joined.along.cross(from)) > most_aside_px ||
                    std::abs(joined.along.cross(to)) > most_aside_px)
                    continue;
                const double a = joined.along.dot(from), b = joined.along.dot(to);
                const double gap = std::max(std::min(a, b) - joined.length, -std::max(a, b));
                const double l = std::min({0.0, a, b}), h = std::max({joined.length, a, b});
                if (gap > least_gap || h - l < joined.length + 2) continue;
                least_gap = gap;
                nearest = &run;
                low = l;
                high = h;
            }
            if (nearest) {
                const auto end = [&](double at) {  // the run's own end where it reaches furthest
                    if (at == 0.0) return joined.from;
                    if (at == joined.length) return joined.to;
                    return std::abs(joined.along.dot(nearest->from - joined.from) - at) < 1e-9 ? nearest->from
                                                                                               : nearest->to;
                };
                joined =
                    Run(end(low), end(high), joined.seen_px + nearest->length + std::min(least_gap, 0.0));
                grown = true;
            }
        }
        if (joined.seen_px > runs[i].seen_px) runs.push_back(joined);
    }
}

// One end of a run: 2 x run for its `from`, + 1 for its `to`.
using End = std::size_t;

std::optional<cv::Point2d> meeting(const Run& a, const Run& b) {
    const double sine = a.along.cross(b.along);
    constexpr double least_sine = 0.5;  // 30 degrees: the flattest corner of a card seen at a slant
    if (std::abs(sine) < least_sine) return std::nullopt;
    return a.from + a.along * ((b.from - a.from).cross(b.along) / sine);
}

// Which end of the run is drawn out, or slightly cut short, to reach the corner. Empty where it runs on past
// it.
std::optional<std::size_t> reaching_end(const Run& run, cv::Point2d corner) {
    const double length = run.length, t = (corner - run.from).dot(run.along);
    const bool at_from = t < length / 2;
    const double beyond = at_from ? -t : t - length;
    if (beyond > 0.5 * length + 12 || beyond < -(0.06 * length + 4)) return std::nullopt;
    return at_from ? 0 : 1;
}

struct Corner {
    End other;
    cv::Point2d at;
};

using CornersByEnd = std::vector<std::vector<Corner>>;

// Corners by each end of each run. Runs that lack a corner at either end, as the grain of a board does, can
// be no side: they are left without any, and so are in turn those that met only them.
CornersByEnd corners_of(const std::vector<Run>& runs) {
    CornersByEnd corners(2 * runs.size());
    for (std::size_t i = 0; i < runs.size(); ++i)
        for (std::size_t j = i + 1; j < runs.size(); ++j) {
            const auto at = meeting(runs[i], runs[j]);
            if (!at) continue;
            const auto a = reaching_end(runs[i], *at), b = reaching_end(runs[j], *at);
            if (!a || !b) continue;
            corners[2 * i + *a].push_back({2 * j + *b, *at});
            corners[2 * j + *b].push_back({2 * i + *a, *at});
        }
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
std::optional<Outline> outline_of(std::array<cv::Point2d, 4> corners, std::array<const Run*, 4> sides,
                                  cv::Size picture) {
    const auto turn = [&](std::size_t i) {
        return (corners[(i + 1) % 4] - corners[i]).cross(corners[(i + 2) % 4] - corners[(i + 1) % 4]);
    };
    if (turn(0) < 0) {
        // Side i lies between corners i and i + 1.
        std::swap(corners[0], corners[3]);
        std::swap(corners[1], corners[2]);
        std::swap(sides[0], sides[2]);
    }
    double length = 0.0, seen = 0.0;
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Point2d a = corners[i], b = corners[(i + 1) % 4];
        constexpr double margin_px = 2.0, least_side_px = 36.0, least_seen = 0.3;
        if (turn(i) <= 0 || a.x < margin_px || a.y < margin_px || a.x > picture.width - 1 - margin_px ||
            a.y > picture.height - 1 - margin_px)
            return std::nullopt;
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

}  // namespace

std::vector<Outline> find_outlines(const ReducedPicture& reduced) {
    EdgePicture picture = edges_of(reduced.bgr);
    std::vector<Run> runs = runs_of(picture);
    const auto longest = [&] {
        std::sort(runs.begin(), runs.end(), [](const Run& a, const Run& b) { return a.seen_px > b.seen_px; });
        if (runs.size() > most_runs) runs.erase(runs.begin() + most_runs, runs.end());
    };
    longest();
    add_joined(runs);
    longest();

    const auto corners = corners_of(runs);
    std::vector<Outline> outlines;
    // Rounds a - b - c - d, each found once: a is the lowest run of the four, and b lies at its `from`.
    for (std::size_t a = 0; a < runs.size(); ++a)
        for (const Corner& ab : corners[2 * a]) {
            if (ab.other / 2 < a) continue;
            for (const Corner& bc : corners[ab.other ^ 1U]) {
                if (bc.other / 2 <= a) continue;
                for (const Corner& cd : corners[bc.other ^ 1U]) {
                    if (cd.other / 2 <= a || cd.other / 2 == ab.other / 2) continue;
                    for (const Corner& da : corners[cd.other ^ 1U]) {
                        if (da.other != 2 * a + 1) continue;
                        const auto outline = outline_of(
                            {da.at, ab.at, bc.at, cd.at},
                            {&runs[a], &runs[ab.other / 2], &runs[bc.other / 2], &runs[cd.other / 2]},
                            reduced.bgr.size());
                        if (outline) outlines.push_back(*outline);
                    }
                }
            }
        }
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

}  // namespace frayhold::gauge
