// SPDX-License-Identifier: Apache-2.0
#include "gauge/edge_sighting.h"

#include <array>
#include <cmath>

namespace frayhold::gauge {

std::optional<EdgeSighting> sight_edge(const cv::Mat& bgr, cv::Point2d near_px, cv::Point2d towards_light,
                                       double reach_px, double least_step, const cv::Vec3d& mix) {
    constexpr double spacing_px = 0.5;
    constexpr int most_samples = 128;
    const int half = std::min(most_samples / 2 - 1, static_cast<int>(std::ceil(reach_px / spacing_px)) + 2);
    std::array<double, most_samples> light{};
    for (int i = -half; i <= half; ++i) {
        const auto value = light_at(bgr, near_px + towards_light * (i * spacing_px), mix);
        if (!value) return std::nullopt;
        light[static_cast<std::size_t>(i + half)] = *value;
    }
    // Slope over one pixel, at each sample that has neighbours on both sides.
    const auto slope = [&](int i) {
        return (light[static_cast<std::size_t>(i + 1)] - light[static_cast<std::size_t>(i - 1)]) /
               (2 * spacing_px);
    };
    const int last = 2 * half - 1;
    int steepest = 1;
    for (int i = 2; i <= last; ++i)
        if (slope(i) > slope(steepest)) steepest = i;
    const double peak = slope(steepest);
    if (peak <= 0) return std::nullopt;

    constexpr double foot = 0.2;
    double weight = 0.0, moment = 0.0;
    int from = steepest, to = steepest;
    while (from > 1 && slope(from - 1) > foot * peak) --from;
    while (to < last && slope(to + 1) > foot * peak) ++to;
    // The slope below the foot is cut off on both sides alike, so that the centre does not lean to the longer
    // side.
    for (int i = from; i <= to; ++i) {
        const double w = slope(i) - foot * peak;
        weight += w;
        moment += w * (i - half);
    }
    const double step = light[static_cast<std::size_t>(std::min(to + 1, 2 * half))] -
                        light[static_cast<std::size_t>(std::max(from - 1, 0))];
    if (step < least_step || weight <= 0) return std::nullopt;
    const double offset = moment / weight * spacing_px;
    if (std::abs(offset) > reach_px) return std::nullopt;
    return EdgeSighting{offset, step, step / peak};
}

}  // namespace frayhold::gauge
