// SPDX-License-Identifier: Apache-2.0
#include "gauge/palette.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <opencv2/core/utility.hpp>
#include <unordered_map>
#include <utility>

namespace frayhold::gauge {
namespace {

constexpr double palette_side = 2.0;

std::uint32_t box_of(double L, double a, double b, double side) {
    const auto step = [&](double value) {
        return static_cast<std::uint32_t>(static_cast<std::int32_t>(std::floor(value / side)) + 512);
    };
    return (step(L) << 20) | (step(a) << 10) | step(b);
}

// Of the four colours of the set that lie nearest in CIELAB, lightness counting half, the least difference by
// CIEDE2000. The set is in the order of lightness: beyond as much of that alone as the fourth is away, none
// is nearer.
double nearest(const Lab& lab, const std::vector<Lab>& set) {
    constexpr double far = std::numeric_limits<double>::infinity();
    std::array<std::pair<double, const Lab*>, 4> best{
        {{far, nullptr}, {far, nullptr}, {far, nullptr}, {far, nullptr}}};
    // Whether the walk away from the colour's own lightness goes on.
    const auto consider = [&](const Lab& each) {
        const double L = (each.L - lab.L) / 2.0;
        if (L * L >= best.back().first) return false;
        const double a = each.a - lab.a;
        const double b = each.b - lab.b;
        const double squared = L * L + a * a + b * b;
        if (squared >= best.back().first) return true;
        best.back() = {squared, &each};
        for (std::size_t i = best.size() - 1; i > 0 && best[i].first < best[i - 1].first; --i)
            std::swap(best[i], best[i - 1]);
        return best.front().first > 0.0;
    };
    const auto middle = std::lower_bound(
        set.begin(), set.end(), lab.L, [](const Lab& each, double lightness) { return each.L < lightness; });
    for (auto up = middle; up != set.end() && consider(*up);) ++up;
    for (auto down = middle; down != set.begin() && consider(*--down);) {
    }
    if (best.front().first == 0.0) return 0.0;
    double smallest = far;
    for (const auto& [squared, each] : best)
        if (each != nullptr) smallest = std::min(smallest, ciede2000(lab, *each, 2.0));
    return smallest;
}

}  // namespace

Palette palette_of(const cv::Mat& lab, const cv::Mat& mask) {
    Palette palette;
    palette.index = cv::Mat(lab.size(), CV_32S, cv::Scalar(-1));
    std::unordered_map<std::uint32_t, int> known;
    known.reserve(4096);
    std::vector<double> pixels;
    for (int row = 0; row < lab.rows; ++row)
        for (int column = 0; column < lab.cols; ++column) {
            if (mask.at<uchar>(row, column) == 0) continue;
            const auto& pixel = lab.at<cv::Vec3f>(row, column);
            const auto [at, added] =
                known.try_emplace(box_of(static_cast<double>(pixel[0]), static_cast<double>(pixel[1]),
                                         static_cast<double>(pixel[2]), palette_side),
                                  static_cast<int>(palette.colours.size()));
            const auto i = static_cast<std::size_t>(at->second);
            if (added) {
                palette.colours.emplace_back();
                pixels.push_back(0.0);
            }
            palette.colours[i].L += static_cast<double>(pixel[0]);
            palette.colours[i].a += static_cast<double>(pixel[1]);
            palette.colours[i].b += static_cast<double>(pixel[2]);
            pixels[i] += 1.0;
            palette.index.at<int>(row, column) = at->second;
        }
    for (std::size_t i = 0; i < pixels.size(); ++i) {
        palette.colours[i].L /= pixels[i];
        palette.colours[i].a /= pixels[i];
        palette.colours[i].b /= pixels[i];
    }
    return palette;
}

std::vector<int> boxes_of(const std::vector<Lab>& colours, double side) {
    std::unordered_map<std::uint32_t, int> known;
    std::vector<int> boxes;
    boxes.reserve(colours.size());
    for (const Lab& colour : colours)
        boxes.push_back(
            known.try_emplace(box_of(colour.L, colour.a, colour.b, side), static_cast<int>(known.size()))
                .first->second);
    return boxes;
}

std::vector<float> distances(const std::vector<Lab>& colours, std::vector<Lab> set) {
    std::sort(set.begin(), set.end(), [](const Lab& one, const Lab& other) { return one.L < other.L; });
    std::vector<float> values(colours.size());
    cv::parallel_for_({0, static_cast<int>(colours.size())}, [&](const cv::Range& range) {
        for (auto i = static_cast<std::size_t>(range.start); i < static_cast<std::size_t>(range.end); ++i)
            values[i] = static_cast<float>(nearest(colours[i], set));
    });
    return values;
}

}  // namespace frayhold::gauge
