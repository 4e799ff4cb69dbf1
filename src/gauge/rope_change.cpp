// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_change.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <vector>

namespace frayhold::gauge {
namespace {

constexpr std::size_t clear = 4;  // stations beside the stretch where it passes into the sound rope
constexpr std::size_t least_beside = 20, usual_beside = 30;
constexpr int terms = 4;

// The mean distance across, to the right, of the edge over the stretch from the cubic beside it.
double moved_right(const RopeLimbs& limbs, const std::vector<double>& edge_mm, std::size_t from,
                   std::size_t to, const std::vector<std::size_t>& beside) {
    const auto row = limbs.light.row[(from + to) / 2];
    const auto line_row = static_cast<std::size_t>(std::lround(row));
    const cv::Point2d middle = limbs.strip.bench_mm(row, 0.0), along = limbs.strip.line.along[line_row],
                      across = limbs.strip.line.across(line_row);
    const auto place = [&](std::size_t s) {
        const cv::Point2d p = limbs.strip.bench_mm(limbs.light.row[s], edge_mm[s]) - middle;
        constexpr double unit_mm = 50.0;  // keeps the powers of one size
        return cv::Point2d(p.dot(along) / unit_mm, p.dot(across));
    };
    cv::Mat powers(static_cast<int>(beside.size()), terms, CV_64F),
        values(static_cast<int>(beside.size()), 1, CV_64F), cubic;
    for (int i = 0; i < powers.rows; ++i) {
        const cv::Point2d p = place(beside[static_cast<std::size_t>(i)]);
        for (int k = 0; k < terms; ++k) powers.at<double>(i, k) = std::pow(p.x, k);
        values.at<double>(i) = p.y;
    }
    cv::solve(powers, values, cubic, cv::DECOMP_SVD);
    double sum = 0.0;
    for (std::size_t s = from; s < to; ++s) {
        const cv::Point2d p = place(s);
        sum += p.y;
        for (int k = 0; k < terms; ++k) sum -= cubic.at<double>(k) * std::pow(p.x, k);
    }
    return sum / static_cast<double>(to - from);
}

}  // namespace

std::optional<EdgesMoved> edges_moved(const RopeLimbs& limbs, std::size_t from, std::size_t to) {
    const std::size_t stations = limbs.sound.left.size(), reach = std::max(usual_beside, to - from) + clear;
    if (from < least_beside + clear || to + least_beside + clear > stations) return std::nullopt;
    std::vector<std::size_t> beside;
    for (std::size_t s = from > reach ? from - reach : 0; s + clear < from; ++s) beside.push_back(s);
    for (std::size_t s = to + clear; s < std::min(stations, to + reach); ++s) beside.push_back(s);
    return EdgesMoved{-moved_right(limbs, limbs.sound.left, from, to, beside),
                      moved_right(limbs, limbs.sound.right, from, to, beside)};
}

bool one_sided(const EdgesMoved& moved, double change_mm) {
    constexpr double like = 0.5, hardly = 0.1;
    const double both_mm = moved.left_mm + moved.right_mm;
    if (std::abs(both_mm - change_mm) > like * std::abs(change_mm)) return false;
    const double way = change_mm > 0 ? 1.0 : -1.0;
    const double less = std::min(way * moved.left_mm, way * moved.right_mm),
                 more = std::max(way * moved.left_mm, way * moved.right_mm);
    return less < hardly * more;
}

}  // namespace frayhold::gauge
