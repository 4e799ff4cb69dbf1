// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_stitches.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <optional>

namespace frayhold::gauge {
namespace {

constexpr double plain_share = 0.3;  // of the middle of a band that thread fills
constexpr double doubtful_share = 0.17;

// Columns whose look no edge damage reaches, short of a deep nick.
struct Middle {
    int from = 0;
    int to = 0;
};

Middle middle_of(const WebCells& cells) {
    const int edge = std::max(static_cast<int>(0.2 * cells.across), static_cast<int>(2.0 / cells.cell_mm));
    return {cells.margin + edge, cells.margin + cells.across - edge};
}

// Mean colour of the thread against its webbing: of the cells far from usual, about the row with most of
// them.
std::optional<cv::Vec3d> thread_step(const WebCells& cells, const cv::Matx33d& inverse, Middle middle) {
    constexpr double far_square = 16.0;
    const int rows = cells.colour.rows, reach = std::max(1, static_cast<int>(1.0 / cells.cell_mm));
    std::vector<double> far(static_cast<std::size_t>(rows), 0.0);
    const auto is_far = [&](const cv::Vec3d& v) { return v.dot(inverse * v) > far_square; };
    for (int r = 0; r < rows; ++r)
        for (int c = middle.from; c < middle.to; ++c)
            far[static_cast<std::size_t>(r)] += is_far(cells.colour.at<cv::Vec3f>(r, c));
    int densest = 0;
    double most = 0.0;
    for (int r = reach; r + reach < rows; ++r) {
        double sum = 0.0;
        for (int k = r - reach; k <= r + reach; ++k) sum += far[static_cast<std::size_t>(k)];
        if (sum > most) {
            most = sum;
            densest = r;
        }
    }
    if (most < doubtful_share * (2 * reach + 1) * (middle.to - middle.from)) return std::nullopt;
    cv::Vec3d sum;
    double n = 0.0;
    for (int r = densest - reach; r <= densest + reach; ++r)
        for (int c = middle.from; c < middle.to; ++c) {
            const cv::Vec3d v(cells.colour.at<cv::Vec3f>(r, c));
            if (!is_far(v)) continue;
            sum += v;
            n += 1.0;
        }
    return sum / n;
}

// 1 where a cell is more than half-way from webbing to thread, by the weights that part them best (Fisher
// 1936).
cv::Mat thread_cells(const WebCells& cells, const cv::Matx33d& inverse, const cv::Vec3d& step) {
    const cv::Vec3d weights = inverse * step;
    const double half = 0.5 * weights.dot(step);
    cv::Mat thread(cells.colour.size(), CV_8U);
    for (int r = 0; r < thread.rows; ++r)
        for (int c = 0; c < thread.cols; ++c)
            thread.at<uchar>(r, c) = weights.dot(cv::Vec3d(cells.colour.at<cv::Vec3f>(r, c))) > half ? 1 : 0;
    return thread;
}

// Mean over +-reach entries.
std::vector<double> smoothed(const std::vector<double>& values, int reach) {
    const int n = static_cast<int>(values.size());
    std::vector<double> out(values.size());
    for (int i = 0; i < n; ++i) {
        double sum = 0.0;
        const int from = std::max(0, i - reach), to = std::min(n - 1, i + reach);
        for (int k = from; k <= to; ++k) sum += values[static_cast<std::size_t>(k)];
        out[static_cast<std::size_t>(i)] = sum / (to - from + 1);
    }
    return out;
}

// Where the row begins and ends across the webbing, and where thread is missing in between.
void look_along_row(const WebCells& cells, const cv::Mat& thread, StitchRowSeen& row) {
    std::vector<double> filled(static_cast<std::size_t>(cells.across), 0.0);
    for (int c = 0; c < cells.across; ++c)
        for (int r = row.from_row; r < row.to_row; ++r)
            filled[static_cast<std::size_t>(c)] +=
                static_cast<double>(thread.at<uchar>(r, cells.margin + c)) / (row.to_row - row.from_row);
    filled = smoothed(filled, std::max(1, static_cast<int>(0.5 / cells.cell_mm)));
    std::vector<double> sorted = filled;
    const auto upper = sorted.begin() + static_cast<std::ptrdiff_t>(0.6 * static_cast<double>(sorted.size()));
    std::nth_element(sorted.begin(), upper, sorted.end());
    const double usual = *upper;
    int from = 0, to = cells.across;
    while (from < to && filled[static_cast<std::size_t>(from)] < 0.5 * usual) ++from;
    while (to > from && filled[static_cast<std::size_t>(to - 1)] < 0.5 * usual) --to;
    row.from_column = cells.margin + from;
    row.to_column = cells.margin + to;

    constexpr double plain_mm = 1.6, least_mm = 1.0;
    for (int c = from; c < to; ++c) {
        if (filled[static_cast<std::size_t>(c)] >= 0.5 * usual) continue;
        int end = c;
        double emptiest = usual;
        while (end < to && filled[static_cast<std::size_t>(end)] < 0.5 * usual)
            emptiest = std::min(emptiest, filled[static_cast<std::size_t>(end++)]);
        const double length_mm = (end - c) * cells.cell_mm;
        if (length_mm > plain_mm && emptiest < 0.2 * usual)
            ++row.plain_gaps;
        else if (length_mm > least_mm && emptiest < 0.35 * usual)
            ++row.doubtful_gaps;
        c = end;
    }
}

}  // namespace

StitchSearch find_stitches(const WebCells& cells) {
    StitchSearch search;
    const Middle middle = middle_of(cells);
    if (middle.to <= middle.from) return search;
    const cv::Matx33d inverse = cells.web_covariance.inv();
    const auto step = thread_step(cells, inverse, middle);
    if (!step) return search;
    const cv::Mat thread = thread_cells(cells, inverse, *step);

    std::vector<double> share(static_cast<std::size_t>(thread.rows), 0.0);
    for (int r = 0; r < thread.rows; ++r)
        for (int c = middle.from; c < middle.to; ++c)
            share[static_cast<std::size_t>(r)] +=
                static_cast<double>(thread.at<uchar>(r, c)) / (middle.to - middle.from);
    share = smoothed(share, std::max(1, static_cast<int>(0.5 / cells.cell_mm)));

    constexpr double least_band_mm = 1.2, most_band_mm = 6.0;
    const int rows = thread.rows;
    for (int r = 0; r < rows; ++r) {
        if (share[static_cast<std::size_t>(r)] < doubtful_share) continue;
        int to = r;
        double fullest = 0.0;
        while (to < rows && share[static_cast<std::size_t>(to)] >= doubtful_share)
            fullest = std::max(fullest, share[static_cast<std::size_t>(to++)]);
        const double band_mm = (to - r) * cells.cell_mm;
        if (band_mm > most_band_mm) {
            search.patches = true;
        } else if (band_mm > least_band_mm) {
            StitchRowSeen row;
            row.from_row = r;
            row.to_row = to;
            row.plain = fullest > plain_share;
            look_along_row(cells, thread, row);
            search.rows.push_back(row);
        }
        r = to;
    }
    return search;
}

}  // namespace frayhold::gauge
