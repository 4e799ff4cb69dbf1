// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_change.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/core.hpp>
#include <vector>

namespace frayhold::gauge {
namespace {

constexpr std::size_t clear = 4;  // stations beside the stretch where it passes into the sound rope
constexpr std::size_t least_beside = 20, usual_beside = 30;

// The mean distance across, to the right, of the edge over some stations from the polynomial beside them.
double moved_right(const RopeLimbs& limbs, const std::vector<double>& edge_mm, Run over,
                   const std::vector<std::size_t>& beside, int terms) {
    const auto row = limbs.light.row[(over.from + over.to) / 2];
    const auto line_row = static_cast<std::size_t>(std::lround(row));
    const cv::Point2d middle = limbs.strip.bench_mm(row, 0.0), along = limbs.strip.line.along[line_row],
                      across = limbs.strip.line.across(line_row);
    const auto place = [&](std::size_t s) {
        const cv::Point2d p = limbs.strip.bench_mm(limbs.light.row[s], edge_mm[s]) - middle;
        constexpr double unit_mm = 50.0;  // keeps the powers of one size
        return cv::Point2d(p.dot(along) / unit_mm, p.dot(across));
    };
    cv::Mat powers(static_cast<int>(beside.size()), terms, CV_64F),
        values(static_cast<int>(beside.size()), 1, CV_64F), course;
    for (int i = 0; i < powers.rows; ++i) {
        const cv::Point2d p = place(beside[static_cast<std::size_t>(i)]);
        for (int k = 0; k < terms; ++k) powers.at<double>(i, k) = std::pow(p.x, k);
        values.at<double>(i) = p.y;
    }
    cv::solve(powers, values, course, cv::DECOMP_SVD);
    double sum = 0.0;
    for (std::size_t s = over.from; s < over.to; ++s) {
        const cv::Point2d p = place(s);
        sum += p.y;
        for (int k = 0; k < terms; ++k) sum -= course.at<double>(k) * std::pow(p.x, k);
    }
    return sum / static_cast<double>(over.to - over.from);
}

}  // namespace

std::vector<EdgesMoved> edges_moved(const RopeLimbs& limbs, Run stretch, Run over) {
    const auto [from, to] = stretch;
    const std::size_t stations = limbs.sound.left.size(), reach = std::max(usual_beside, to - from) + clear;
    if (from < least_beside + clear || to + least_beside + clear > stations) return {};
    std::vector<std::size_t> beside;
    for (std::size_t s = from > reach ? from - reach : 0; s + clear < from; ++s) beside.push_back(s);
    for (std::size_t s = to + clear; s < std::min(stations, to + reach); ++s) beside.push_back(s);
    std::vector<EdgesMoved> moved;
    for (const int terms : {3, 4, 5})
        moved.push_back({-moved_right(limbs, limbs.sound.left, over, beside, terms),
                         moved_right(limbs, limbs.sound.right, over, beside, terms)});
    return moved;
}

bool one_sided(const std::vector<EdgesMoved>& moved, double change_mm) {
    constexpr double like = 0.5, hardly = 0.2;
    const double way = change_mm > 0 ? 1.0 : -1.0;
    const auto left_moves_more = [&](const EdgesMoved& m) { return way * m.left_mm > way * m.right_mm; };
    return !moved.empty() && std::all_of(moved.begin(), moved.end(), [&](const EdgesMoved& m) {
        if (std::abs(m.left_mm + m.right_mm - change_mm) > like * std::abs(change_mm)) return false;
        const double less = std::min(way * m.left_mm, way * m.right_mm),
                     more = std::max(way * m.left_mm, way * m.right_mm);
        return less < hardly * more && left_moves_more(m) == left_moves_more(moved.front());
    });
}

double unequal_mm(const std::vector<EdgesMoved>& moved) {
    double least = moved.empty() ? 0.0 : std::numeric_limits<double>::infinity();
    for (const EdgesMoved& m : moved) least = std::min(least, std::abs(m.left_mm - m.right_mm));
    return least;
}

}  // namespace frayhold::gauge
