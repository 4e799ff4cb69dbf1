// SPDX-License-Identifier: Apache-2.0
#include "gauge/straight_runs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <set>

namespace frayhold::gauge {
namespace {

constexpr double least_run_px = 8.0;
constexpr std::size_t most_runs = 4000;

// Takes straight runs out of a region of edge pixels that run about along `angle`, the fullest first: print
// may touch a side, or an arc run into it.
void take_runs(std::vector<cv::Point>& region, double angle, std::vector<StraightRun>& runs) {
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
std::vector<StraightRun> runs_of(EvenedSlopes& picture) {
    const double alike = std::cos(2 * 22.5 * CV_PI / 180);
    const auto facing = [&](cv::Point p) {  // doubled angle, so that light may lie on either side
        const double dx = picture.dx.at<short>(p), dy = picture.dy.at<short>(p), square = dx * dx + dy * dy;
        return cv::Point2d((dx * dx - dy * dy) / square, 2 * dx * dy / square);
    };
    std::vector<StraightRun> runs;
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

// Adds to each run what lies on its line, nearest first, and each state in between as a run of its own: print
// or a fold may break a side, and what comes next may be its other half or chance beyond its corner. The line
// follows what it takes in, since short runs tell their direction badly.
void add_joined(std::vector<StraightRun>& runs) {
    constexpr double most_aside_px = 2.0, least_seen = 0.3;
    const std::size_t single = runs.size();
    std::set<std::array<std::size_t, 2>> taken;  // by the pieces at either end
    for (std::size_t i = 0; i < single; ++i) {
        StraightRun joined = runs[i];
        std::array<std::size_t, 2> ends{i, i};
        for (;;) {
            std::size_t nearest = single;
            double least_gap = std::max(20.0, 0.7 * joined.length), low = 0, high = joined.length;
            for (std::size_t j = 0; j < single; ++j) {
                const StraightRun& run = runs[j];
                const cv::Point2d from = run.from - joined.from, to = run.to - joined.from;
                if (std::abs(joined.along.cross(from)) > most_aside_px ||
                    std::abs(joined.along.cross(to)) > most_aside_px)
                    continue;
                const double a = joined.along.dot(from), b = joined.along.dot(to);
                const double gap = std::max(std::min(a, b) - joined.length, -std::max(a, b));
                const double l = std::min({0.0, a, b}), h = std::max({joined.length, a, b});
                if (gap > least_gap || h - l < joined.length + 2) continue;
                least_gap = gap;
                nearest = j;
                low = l;
                high = h;
            }
            if (nearest == single) break;
            const StraightRun& next = runs[nearest];
            const auto end = [&](double at) {  // the run's own end where it reaches furthest
                if (at == 0.0) return joined.from;
                if (at == joined.length) return joined.to;
                return std::abs(joined.along.dot(next.from - joined.from) - at) < 1e-9 ? next.from : next.to;
            };
            if (low < 0) ends[0] = nearest;
            if (high > joined.length) ends[1] = nearest;
            joined =
                StraightRun(end(low), end(high), joined.seen_px + next.length + std::min(least_gap, 0.0));
            if (joined.seen_px < least_seen * joined.length) break;
            if (taken.insert({std::min(ends[0], ends[1]), std::max(ends[0], ends[1])}).second)
                runs.push_back(joined);
        }
    }
}

void keep_longest(std::vector<StraightRun>& runs) {
    std::sort(runs.begin(), runs.end(),
              [](const StraightRun& a, const StraightRun& b) { return a.seen_px > b.seen_px; });
    if (runs.size() > most_runs) runs.erase(runs.begin() + most_runs, runs.end());
}

}  // namespace

std::vector<StraightRun> find_straight_runs(const EvenedSlopes& slopes) {
    EvenedSlopes picture = slopes;
    picture.edges = slopes.edges.clone();
    std::vector<StraightRun> runs = runs_of(picture);
    keep_longest(runs);
    add_joined(runs);
    keep_longest(runs);
    return runs;
}

}  // namespace frayhold::gauge
