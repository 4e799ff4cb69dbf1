// SPDX-License-Identifier: Apache-2.0
#include "gauge/open_outline.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <optional>
#include <utility>

#include "gauge/card_design.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// How clear an edge is along the line, each sample by the slope across it, none counting more than a clear
// one.
struct Clearness {
    double mean = 0.0;  // in units of a clear edge
    double seen = 0.0;  // share of samples that show a faint one
};

Clearness clearness_along(const EvenedSlopes& slopes, cv::Point2d from, cv::Point2d to) {
    const cv::Rect inside(0, 0, slopes.dx.cols, slopes.dx.rows);
    const double length = cv::norm(to - from);
    const cv::Point2d along = (to - from) / length, across(-along.y, along.x);
    const int count = std::clamp(static_cast<int>(length / 2), 8, 50);
    Clearness sum;
    for (int i = 0; i < count; ++i) {
        constexpr double clear_of_corner = 0.1;
        const double t = clear_of_corner + (1 - 2 * clear_of_corner) * (i + 0.5) / count;
        const cv::Point p(from + (to - from) * t);
        if (!inside.contains(p)) continue;
        const double slope =
            std::abs(slopes.dx.at<short>(p) * across.x + slopes.dy.at<short>(p) * across.y) / slopes.clear;
        sum.mean += std::min(slope, 1.0) / count;
        sum.seen += (slope > faint_share) / static_cast<double>(count);
    }
    return sum;
}

// Where two sides at a third lead to the corners of a flat rectangle whose sides are so many times as long as
// the third. Lines that are parallel on the bench lie in planes through the camera that meet along them.
std::optional<std::array<cv::Point2d, 2>> far_corners(const std::array<cv::Point2d, 2>& near,
                                                      const std::array<cv::Point2d, 2>& beyond,
                                                      double times_as_long, const PinHole& camera) {
    const auto sight = [&](cv::Point2d p) {
        const cv::Point2d off = (p - camera.centre_px) / camera.focal_px;
        return cv::Vec3d(off.x, off.y, 1.0);
    };
    const cv::Vec3d first = sight(near[0]), second = sight(near[1]);
    cv::Vec3d side = first.cross(sight(beyond[0])).cross(second.cross(sight(beyond[1])));
    cv::Vec3d third = side.cross(first.cross(second));
    if (cv::norm(side) == 0 || cv::norm(third) == 0) return std::nullopt;
    side /= cv::norm(side);
    third /= cv::norm(third);
    // first * at + third = second * s, the third side's length being one: what is square to `second` drops
    // out.
    const cv::Vec3d a = first.cross(second), b = third.cross(second);
    const double at = -a.dot(b) / a.dot(a);
    if (at == 0) return std::nullopt;
    const cv::Vec3d from = first * at, to = from + third;
    std::array<cv::Point2d, 2> far;
    for (std::size_t i = 0; i < 2; ++i) {
        const cv::Vec3d start = (i == 0 ? from : to) * (at < 0 ? -1 : 1);
        const double way =
            (sight(beyond[i]) - sight(near[i])).dot(side * start[2] - start * side[2]) < 0 ? -1 : 1;
        const cv::Vec3d corner = start + side * (way * times_as_long);
        if (start[2] <= 0 || corner[2] <= 0) return std::nullopt;
        far[i] = camera.centre_px + cv::Point2d(corner[0], corner[1]) * (camera.focal_px / corner[2]);
    }
    return far;
}

}  // namespace

void add_open_outlines(const std::array<SeenSide, 2>& sides, double between_seen_px, const PinHole& camera,
                       std::vector<OpenOutline>& open) {
    constexpr double least_seen = 0.3, least_side_px = 30.0, most_beyond = 1.12;
    const std::array<cv::Point2d, 2> near{sides[0].corner, sides[1].corner},
        beyond{sides[0].end, sides[1].end};
    const cv::Point2d along = near[1] - near[0];
    const double between = cv::norm(along);
    if (between < least_side_px || between_seen_px < least_seen * between) return;
    if (along.cross(beyond[0] - near[0]) * along.cross(beyond[1] - near[1]) <= 0) return;
    for (const double ratio : {id1_width_mm / id1_height_mm, id1_height_mm / id1_width_mm}) {
        const auto far = far_corners(near, beyond, ratio, camera);
        if (!far) continue;
        OpenOutline outline{
            near, {(*far)[0] - near[0], (*far)[1] - near[1]}, std::min(between_seen_px, between), between};
        bool fits = true;
        for (std::size_t i = 0; i < 2; ++i) {
            const double length = cv::norm(outline.way[i]), seen = sides[i].seen_px;
            fits = fits && length > least_side_px && seen > least_seen * length &&
                   cv::norm(beyond[i] - near[i]) < most_beyond * length;
            outline.seen_px += std::min(seen, length);
            outline.length_px += length;
        }
        if (fits) open.push_back(outline);
    }
}

void add_completed(const EvenedSlopes& slopes, const OpenOutline& open, std::vector<Outline>& outlines) {
    constexpr double most_off = 0.12, step_px = 1.5, least_seen = 0.5;
    constexpr std::size_t most_places = 3;
    double seen = 0.0;
    for (const auto& [from, to] :
         {std::pair(open.near[0], open.near[1]), std::pair(open.near[0], open.near[0] + open.way[0]),
          std::pair(open.near[1], open.near[1] + open.way[1])}) {
        const double share = clearness_along(slopes, from, to).seen;
        if (share < least_seen) return;
        seen += share * cv::norm(to - from);
    }
    const double longest = std::max(cv::norm(open.way[0]), cv::norm(open.way[1]));
    const auto corner_at = [&](std::size_t i, double off) { return open.near[i] + open.way[i] * off; };
    const auto clearness_at = [&](double off_a, double off_c) {
        return clearness_along(slopes, corner_at(0, off_a), corner_at(1, off_c));
    };
    const int steps = static_cast<int>(std::ceil(most_off * longest / step_px));
    std::vector<double> means;
    for (int i = -steps; i <= steps; ++i)
        means.push_back(clearness_at(1 + most_off * i / steps, 1 + most_off * i / steps).mean);
    const double least = std::clamp(1.6 * median(means), 0.25, 0.6);
    std::vector<std::size_t> peaks;
    for (std::size_t i = 1; i + 1 < means.size(); ++i)
        if (means[i] >= 0.7 * least && means[i] >= means[i - 1] && means[i] > means[i + 1])
            peaks.push_back(i);
    std::sort(peaks.begin(), peaks.end(), [&](std::size_t a, std::size_t b) { return means[a] > means[b]; });
    if (peaks.size() > most_places) peaks.resize(most_places);
    for (const std::size_t peak : peaks) {
        const double rough = 1 + most_off * (static_cast<double>(peak) / steps - 1),
                     fine = 0.8 * step_px / longest;
        Clearness clearest;
        std::array<double, 2> off{};
        for (int i = -2; i <= 2; ++i)
            for (int k = -2; k <= 2; ++k) {
                const Clearness here = clearness_at(rough + i * fine, rough + k * fine);
                if (here.mean > clearest.mean) clearest = here, off = {rough + i * fine, rough + k * fine};
            }
        if (clearest.mean < least) continue;
        std::array<cv::Point2d, 4> corners{open.near[0], open.near[1], corner_at(1, off[1]),
                                           corner_at(0, off[0])};
        if ((corners[1] - corners[0]).cross(corners[2] - corners[1]) < 0)
            std::swap(corners[0], corners[1]), std::swap(corners[2], corners[3]);
        if (!can_be_outline(corners, slopes.dx.size())) continue;
        const double fourth = cv::norm(corners[3] - corners[2]);
        outlines.push_back({corners, (seen + clearest.seen * fourth) / (open.length_px + fourth)});
    }
}

}  // namespace frayhold::gauge
