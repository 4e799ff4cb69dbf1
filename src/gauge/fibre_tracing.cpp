// SPDX-License-Identifier: Apache-2.0
#include "gauge/fibre_tracing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>

#include <opencv2/imgproc.hpp>

namespace frayhold::gauge {
namespace {

// Rows a column, as tangents of 0, 15, 30, 45, 60 and 72 degrees to either side.
constexpr std::array<double, 11> slopes{-3.08, -1.73, -1.0, -0.577, -0.268, 0.0, 0.268, 0.577, 1.0, 1.73, 3.08};
constexpr int slope_count = static_cast<int>(slopes.size());
constexpr double line_mm = 1.3;
constexpr double narrow_px = 0.7, wide_px = 2.0;  // of the difference of Gaussians
constexpr float never = -1e9F;

float centile(std::vector<float>& values, double share) {
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

// Mean along a line of `length` pixels through each place, at a slope.
cv::Mat line_mean(const cv::Mat& padded, cv::Size size, int pad, double slope, double length) {
    cv::Mat sum = cv::Mat::zeros(size, CV_32F);
    const double norm = std::hypot(1.0, slope);
    const int half = std::max(2, static_cast<int>(std::lround(length / 2)));
    for (int i = -half; i <= half; ++i) {
        const int along = static_cast<int>(std::lround(i * slope / norm)), across = static_cast<int>(std::lround(i / norm));
        sum += padded(cv::Rect({pad + along, pad + across}, size));
    }
    sum *= 1.0 / (2 * half + 1);
    return sum;
}

// Wide tails, as of grain, must raise the measure: from the 68th and the 95th centile.
double scatter_on(const cv::Mat& values, const cv::Mat& calm) {
    std::vector<float> sizes;
    for (int r = 0; r < values.rows; r += 3) {
        const auto* v = values.ptr<float>(r);
        const auto* m = calm.ptr<uchar>(r);
        for (int c = r % 4; c < values.cols; c += 4)
            if (m[c]) sizes.push_back(std::abs(v[c]));
    }
    if (sizes.size() < 100) return 1.0;
    return std::max({centile(sizes, 0.6827), centile(sizes, 0.9545) / 2, 1e-3F});
}

// Each column of the strip less its median and over its scatter, never of less than `least`: next to the item run the
// foot of its shadow and the colour that JPEG lets bleed over the edge, all along it, and neither is a fibre.
void judge_by_column(cv::Mat& values, const cv::Mat& calm, double least) {
    std::vector<float> seen;
    for (int y = 0; y < values.rows; ++y) {
        auto* v = values.ptr<float>(y);
        const auto* m = calm.ptr<uchar>(y);
        seen.clear();
        for (int x = y % 3; x < values.cols; x += 3)
            if (m[x]) seen.push_back(v[x]);
        float usual = 0.0F, scale = static_cast<float>(least);
        if (seen.size() > 20) {
            usual = centile(seen, 0.5);
            for (float& s : seen) s = std::abs(s - usual);
            scale = std::max({scale, centile(seen, 0.6827), centile(seen, 0.9) / 1.645F});
        }
        for (int x = 0; x < values.cols; ++x) v[x] = (v[x] - usual) / scale;
    }
}

int shift_at(double slope, int column) {
    return static_cast<int>(std::lround(slope * column)) - static_cast<int>(std::lround(slope * (column - 1)));
}

struct Paths {
    std::vector<float> gain, best, level;
    explicit Paths(std::size_t n) : gain(n, never), best(n, never), level(n, 0.0F) {}
};

}  // namespace

double FibreTracing::response(double blur_px) {
    return (1 / std::hypot(blur_px, narrow_px) - 1 / std::hypot(blur_px, wide_px)) / std::sqrt(2 * CV_PI);
}

FibreTracing::FibreTracing(const cv::Mat& signal, const cv::Mat& calm, double mm_per_px) : mm_per_px_(mm_per_px) {
    cv::Mat narrow, wide, flat, bare, padded;
    cv::transpose(signal, flat);
    cv::transpose(calm, bare);
    cv::GaussianBlur(flat, narrow, {5, 5}, narrow_px);
    cv::GaussianBlur(flat, wide, {13, 13}, wide_px);
    cv::Mat detail = narrow - wide;
    const double pixel_scatter = scatter_on(detail, bare);
    // No fibre stands out more than a bold one; specks do.
    cv::min(detail, 8 * pixel_scatter, detail);
    cv::max(detail, -4 * pixel_scatter, detail);
    const double length = line_mm / mm_per_px;
    const int pad = static_cast<int>(std::ceil(length / 2)) + 2;
    cv::copyMakeBorder(detail, padded, pad, pad, pad, pad, cv::BORDER_REFLECT);
    double squares = 0.0;
    for (const double slope : slopes) {
        evidence_.push_back(line_mean(padded, flat.size(), pad, slope, length));
        const double scatter = scatter_on(evidence_.back(), bare);
        squares += scatter * scatter;
        judge_by_column(evidence_.back(), bare, scatter);
    }
    scatter_ = std::sqrt(squares / slope_count);
}

std::vector<int> FibreTracing::outermost(const cv::Mat& roots, const std::vector<int>& first_column, int side, double toll) const {
    const int length = evidence_.front().cols;
    const auto n = static_cast<std::size_t>(length);
    std::vector<int> reach = first_column;
    int start = side > 0 ? *std::min_element(first_column.begin(), first_column.end()) : *std::max_element(first_column.begin(), first_column.end());
    const int columns = side > 0 ? evidence_.front().rows - start : start + 1;
    if (columns < 2) return reach;
    constexpr double gap_mm = 0.7, gain_mm = 1.6;
    const auto gap = static_cast<float>(toll * gap_mm / mm_per_px_), least_gain = static_cast<float>(toll * gain_mm / mm_per_px_);
    const auto bend_cost = static_cast<float>(0.5 * toll);
    const auto memory = static_cast<float>(mm_per_px_ / line_mm);

    std::vector<Paths> now(slope_count, Paths(n)), before = now;
    std::vector<std::uint8_t> from(static_cast<std::size_t>(columns) * slope_count * n, 3);
    const auto from_at = [&](int j, int k) { return from.data() + (static_cast<std::size_t>(j) * slope_count + static_cast<std::size_t>(k)) * n; };
    struct End { int j, k, x; };
    std::vector<End> ends;
    cv::Mat roots_across;
    cv::transpose(roots, roots_across);
    for (int j = 0; j < columns; ++j) {
        const int y = start + side * j;
        const auto* root = roots_across.ptr<uchar>(y);
        bool any = false;
        for (int k = 0; k < slope_count; ++k) {
            // The slope outward: to the left, columns run down.
            const auto* z = evidence_[static_cast<std::size_t>(side > 0 ? k : slope_count - 1 - k)].ptr<float>(y);
            const double slope = slopes[static_cast<std::size_t>(k)];
            const int shift = shift_at(slope, j);
            const auto step = static_cast<float>(std::hypot(1.0, slope)), t = static_cast<float>(toll);
            auto* came = from_at(j, k);
            Paths& to = now[static_cast<std::size_t>(k)];
            for (int x = 0; x < length; ++x) {
                const auto i = static_cast<std::size_t>(x);
                const int px = x - shift;
                float gain = never, best = never, level = 0.0F;
                std::uint8_t how = 3;
                if (j > 0 && px >= 0 && px < length) {
                    for (int d = -1; d <= 1; ++d) {
                        if (k + d < 0 || k + d >= slope_count) continue;
                        const Paths& p = before[static_cast<std::size_t>(k + d)];
                        const float g = p.gain[static_cast<std::size_t>(px)] - (d == 0 ? 0.0F : bend_cost);
                        if (g <= gain) continue;
                        gain = g;
                        best = p.best[static_cast<std::size_t>(px)];
                        level = p.level[static_cast<std::size_t>(px)];
                        how = static_cast<std::uint8_t>(d + 1);
                    }
                }
                if (root[x] && gain < 0) {
                    gain = best = level = 0.0F;
                    how = 3;
                } else if (gain > never / 2) {
                    gain += step * (z[x] - t);
                    level += std::min(1.0F, memory * step) * (z[x] - level);
                    if (gain > best) {
                        best = gain;
                        if (gain > least_gain && z[x] > 0.5F * level) ends.push_back({j, k, x});
                    } else if (gain < best - gap) {
                        gain = never;
                    }
                }
                to.gain[i] = gain;
                to.best[i] = best;
                to.level[i] = level;
                came[i] = how;
                any |= gain > never / 2;
            }
        }
        if (!any && j > 40) break;
        std::swap(now, before);
    }
    // From the farthest end inward: whatever leads back along a path already walked adds nothing.
    cv::Mat walked = cv::Mat::zeros(columns, length, CV_8U);
    for (auto end = ends.rbegin(); end != ends.rend(); ++end) {
        auto [j, k, x] = *end;
        while (j >= 0 && x >= 0 && x < length && !walked.at<uchar>(j, x)) {
            walked.at<uchar>(j, x) = 1;
            auto& r = reach[static_cast<std::size_t>(x)];
            r = side > 0 ? std::max(r, start + j) : std::min(r, start - j);
            const int how = from_at(j, k)[x];
            if (how == 3) break;
            x -= shift_at(slopes[static_cast<std::size_t>(k)], j);
            k += how - 1;
            --j;
        }
    }
    return reach;
}

}  // namespace frayhold::gauge
