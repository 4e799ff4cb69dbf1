// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_mark.h"

#include <algorithm>
#include <opencv2/core.hpp>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// Log ratios: less is plain webbing, where most of what lies at that depth is.
constexpr double plain_webbing = -1.5, most_webbing = -2.0;

bool webbing_is_plain(const cv::Mat& ratio, int depth) {
    constexpr int step = 4;
    std::vector<double> values;
    for (int r = 0; r < ratio.rows; r += step)
        values.push_back(static_cast<double>(ratio.at<float>(r, depth)));
    return median(std::move(values)) < most_webbing;
}

}  // namespace

int mark_leads_to(const cv::Mat& bench_against_web, int from, int to, int depth) {
    const cv::Mat& ratio = bench_against_web;
    // A fibre across it, or one rib of the weave; a row of stitches is wider.
    constexpr int break_cells = 1, wide_cells = 4;
    const int widest = to - from + wide_cells;
    int end = depth;
    for (int d = depth; d < ratio.cols && d - end <= break_cells && webbing_is_plain(ratio, d); ++d) {
        int first = ratio.rows, last = -1;
        for (int r = std::max(0, from - 1); r < std::min(ratio.rows, to + 1); ++r) {
            if (static_cast<double>(ratio.at<float>(r, d)) < plain_webbing) continue;
            first = std::min(first, r);
            last = r;
        }
        if (last < 0) continue;
        if (last + 1 - first > widest) break;
        from = first;
        to = last + 1;
        end = d + 1;
    }
    return end;
}

}  // namespace frayhold::gauge
