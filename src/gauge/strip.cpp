// SPDX-License-Identifier: Apache-2.0
#include "gauge/strip.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"

namespace frayhold::gauge {

cv::Point2d Strip::bench_mm(double row, double across_mm) const {
    const double inside = std::clamp(row, 0.0, static_cast<double>(line.size() - 1));
    const auto i = static_cast<std::size_t>(inside);
    const double beyond = (row - static_cast<double>(i)) * line.spacing_mm;
    return line.at_mm[i] + line.along[i] * beyond + line.across(i) * across_mm;
}

Strip unroll(const cv::Mat& picture, int factor, const View& view, const CentreLine& line,
             double half_width_mm) {
    Strip strip;
    strip.line = line;
    strip.mm_per_px = line.spacing_mm;
    strip.middle = static_cast<int>(std::ceil(half_width_mm / strip.mm_per_px));
    const int columns = 2 * strip.middle + 1;
    const int rows = static_cast<int>(line.size());

    // Across so short a line, perspective is straight enough between knots to interpolate: under 0.01 px at 8
    // knots.
    constexpr int knots = 8;
    strip.bgr.create(rows, columns, picture.type());
    strip.seen.create(rows, columns, CV_8U);
    const cv::Rect2d card(-0.5, -0.5, id1_width_mm + 1, id1_height_mm + 1);
    const auto map_row = [&](int r, cv::Vec2f* to, uchar* seen) {
        std::array<cv::Point2d, knots + 1> at;
        for (int k = 0; k <= knots; ++k) {
            const double across = strip.across_mm((columns - 1.0) * k / knots);
            const cv::Point2d px = view.picture_from_bench(strip.bench_mm(r, across));
            at[static_cast<std::size_t>(k)] = {(px.x + 0.5) / factor - 0.5, (px.y + 0.5) / factor - 0.5};
        }
        const cv::Point2d first = strip.bench_mm(r, strip.across_mm(0));
        const cv::Point2d step = strip.line.across(static_cast<std::size_t>(r)) * strip.mm_per_px;
        const auto inside = [&](cv::Point2d px) {
            return px.x >= 0 && px.y >= 0 && px.x <= picture.cols - 1 && px.y <= picture.rows - 1;
        };
        // Far from the card and all in the picture, no pixel need be asked one by one.
        const cv::Rect2d reach(first, first + step * (columns - 1.0));
        const bool all_seen =
            std::all_of(at.begin(), at.end(), inside) && (reach.br().x < card.x || reach.x > card.br().x ||
                                                          reach.br().y < card.y || reach.y > card.br().y);
        const double knots_a_column = knots / (columns - 1.0);
        for (int k = 0, c = 0; k < knots; ++k) {
            const cv::Point2d from = at[static_cast<std::size_t>(k)],
                              way = at[static_cast<std::size_t>(k) + 1] - from;
            const int last = (k + 1) * (columns - 1) / knots;
            for (; c <= last; ++c) {
                const double share = c * knots_a_column - k;
                to[c] = {static_cast<float>(from.x + way.x * share),
                         static_cast<float>(from.y + way.y * share)};
            }
        }
        if (all_seen) {
            std::fill(seen, seen + columns, uchar{1});
            return;
        }
        for (int c = 0; c < columns; ++c)
            seen[c] =
                inside({to[c][0], to[c][1]}) && !card.contains(first + step * static_cast<double>(c)) ? 1 : 0;
    };
    // A few rows at a time: the map of a whole strip takes several times the memory of the strip.
    constexpr int band = 32;
    cv::parallel_for_({0, (rows + band - 1) / band}, [&](const cv::Range& range) {
        cv::Mat map(band, columns, CV_32FC2);
        for (int b = range.start; b < range.end; ++b) {
            const cv::Range part(b * band, std::min(rows, (b + 1) * band));
            for (int r = part.start; r < part.end; ++r)
                map_row(r, map.ptr<cv::Vec2f>(r - part.start), strip.seen.ptr<uchar>(r));
            cv::Mat to = strip.bgr.rowRange(part);
            cv::remap(picture, to, map.rowRange(0, part.size()), cv::noArray(), cv::INTER_LINEAR,
                      cv::BORDER_REPLICATE);
        }
    });
    return strip;
}

}  // namespace frayhold::gauge
