// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_tips.h"

#include <algorithm>
#include <vector>

namespace frayhold::gauge {
namespace {

// Pixels of one row, from the first up to but without the last.
struct Run {
    int from = 0, to = 0;
    [[nodiscard]] int width() const { return to - from; }
};

// The runs that `is_in(column)` makes of the columns within.
template <class IsIn>
std::vector<Run> runs_of(Run within, const IsIn& is_in) {
    std::vector<Run> runs;
    for (int column = within.from; column < within.to; ++column) {
        if (!is_in(column)) continue;
        if (runs.empty() || runs.back().to != column) runs.push_back({column, column});
        runs.back().to = column + 1;
    }
    return runs;
}

void lengthen(cv::Mat& mask, const cv::Mat& core, const TipRule& rule, int way) {
    // How many rows beyond the region.
    cv::Mat beyond = cv::Mat::zeros(mask.size(), CV_32S);
    const int first = way > 0 ? 0 : mask.rows - 1, last = way > 0 ? mask.rows - 1 : 0;
    for (int row = first; row != last; row += way) {
        auto* here = mask.ptr<uchar>(row);
        auto* next = mask.ptr<uchar>(row + way);
        const auto* next_core = core.ptr<uchar>(row + way);
        const auto* rows_here = beyond.ptr<int>(row);
        auto* rows_next = beyond.ptr<int>(row + way);
        // What the region itself holds is no tip.
        std::vector<Run> found;
        std::vector<int> rows;
        for (const Run& run : runs_of({0, mask.cols}, [&](int column) { return here[column] != 0; })) {
            const int so_far = *std::max_element(rows_here + run.from, rows_here + run.to);
            if (so_far >= rule.reach) continue;
            const Run room{std::max(0, run.from - 1), std::min(mask.cols, run.to + 1)};
            const auto is_new = [&](int column) { return next_core[column] != 0 && next[column] == 0; };
            for (Run on : runs_of(room, is_new)) {
                const int width = std::min(on.width(), run.width());
                Run whole = on;
                while (whole.from > 0 && is_new(whole.from - 1)) --whole.from;
                while (whole.to < mask.cols && is_new(whole.to)) ++whole.to;
                const bool neck = whole.width() > width + rule.neck;
                if (neck && rule.tips == Tips::to_neck) continue;
                if (neck || on.width() > run.width())
                    on = {std::max(on.from, run.from), std::min(on.to, run.to)};
                found.push_back(on);
                rows.push_back(so_far + 1);
            }
        }
        for (std::size_t i = 0; i < found.size(); ++i)
            for (int column = found[i].from; column < found[i].to; ++column) {
                next[column] = 255;
                rows_next[column] = std::max(rows_next[column], rows[i]);
            }
    }
}

}  // namespace

cv::Mat with_tips(const cv::Mat& region, const cv::Mat& core, const TipRule& rule) {
    if (rule.tips == Tips::none) return region;
    cv::Mat up = region.clone(), down = region.clone();
    lengthen(up, core, rule, -1);
    lengthen(down, core, rule, 1);
    return up | down;
}

}  // namespace frayhold::gauge
