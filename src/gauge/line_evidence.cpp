// SPDX-License-Identifier: Apache-2.0
#include "gauge/line_evidence.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <opencv2/imgproc.hpp>

#include "gauge/quantile.h"
#include "gauge/wide.h"

namespace frayhold::gauge {
namespace {

constexpr double narrow_px = 0.7;  // smoothing along with the lens's own blur
constexpr double beside_px = 2.5;  // how far to either side of a line the bench is looked at
constexpr float uneven_share = 0.35F;
constexpr int band_columns = 32;

// How far the mean along a line of `length` pixels through each place stands above that of the lines beside
// it, less a share of what the sides differ by, so that a border, a shadow or the flank of a dark line hardly
// passes for a line: half of it would keep out every border, but also each fibre that runs close to another.
// `from` is the padded row of the first row of `out`.
FRAYHOLD_WIDE void ridge(const cv::Mat& padded, int from, int pad, double slope, double length, cv::Mat& line,
                         cv::Mat& out) {
    const double norm = std::hypot(1.0, slope);
    const int half = std::max(2, static_cast<int>(std::lround(length / 2)));
    const int away_x = static_cast<int>(std::lround(beside_px / norm)),
              away_y = static_cast<int>(std::lround(-beside_px * slope / norm));
    const int room_x = std::abs(away_x), room_y = std::abs(away_y);
    const int width = out.cols + 2 * room_x;
    for (int y = 0; y < out.rows + 2 * room_y; ++y) {
        float* to = line.ptr<float>(y);
        std::fill(to, to + width, 0.0F);
        for (int i = -half; i <= half; ++i) {
            const int along = static_cast<int>(std::lround(i * slope / norm)),
                      across = static_cast<int>(std::lround(i / norm));
            const float* row = padded.ptr<float>(from + across - room_y + y) + (pad + along - room_x);
            for (int x = 0; x < width; ++x) to[x] += row[x];
        }
    }
    const float scale = 1.0F / static_cast<float>(2 * half + 1);
    for (int y = 0; y < out.rows; ++y) {
        const float* middle = line.ptr<float>(room_y + y) + room_x;
        const float* one = line.ptr<float>(room_y + y + away_y) + room_x + away_x;
        const float* other = line.ptr<float>(room_y + y - away_y) + room_x - away_x;
        float* to = out.ptr<float>(y);
        for (int x = 0; x < out.cols; ++x)
            to[x] =
                scale * (middle[x] - 0.5F * (one[x] + other[x]) - uneven_share * std::abs(one[x] - other[x]));
    }
}

// Wide tails, as of grain, must raise the measure: from the 68th and the 95th centile.
double scatter_of(std::vector<float>& sizes) {
    constexpr std::size_t least = 100;
    if (sizes.size() < least) return 1.0;
    return std::max({quantile(sizes, 0.6827), quantile(sizes, 0.9545) / 2, 1e-3F});
}

}  // namespace

double LineEvidence::response(double blur_px) {
    const double sigma = std::hypot(blur_px, narrow_px);
    return (1 - std::exp(-0.5 * std::pow(beside_px / sigma, 2))) / (sigma * std::sqrt(2 * CV_PI));
}

LineEvidence::LineEvidence(const cv::Mat& signal, const cv::Mat& calm, double mm_per_px)
    : line_px_(line_mm / mm_per_px) {
    cv::Mat narrow;
    cv::GaussianBlur(signal, narrow, {5, 5}, narrow_px);
    cv::transpose(calm, bare_);
    pad_ = static_cast<int>(std::ceil(line_px_ / 2 + beside_px)) + 2;
    cv::Mat flat;
    cv::transpose(narrow, flat);
    cv::copyMakeBorder(flat, padded_, pad_, pad_, pad_, pad_, cv::BORDER_REFLECT);
    const auto bands = static_cast<std::size_t>((columns() + band_columns - 1) / band_columns);
    bands_ = std::make_unique<Band[]>(bands);

    // The scatter of all from that of one band in three.
    constexpr std::size_t every = 3;
    std::array<std::vector<float>, slopes.size()> sizes;
    std::vector<std::size_t> looked_at;
    for (std::size_t band = 1; band < bands; band += every) looked_at.push_back(band);
    if (looked_at.empty()) looked_at.push_back(0);
    cv::parallel_for_({0, static_cast<int>(looked_at.size())}, [&](const cv::Range& range) {
        for (int i = range.start; i < range.end; ++i) {
            const std::size_t band = looked_at[static_cast<std::size_t>(i)];
            bands_[band].values = ridges(band);
        }
    });
    for (const std::size_t band : looked_at) {
        const int count = columns_of(band);
        for (int y = 0; y < count; y += 2) {
            const auto* seen = bare_.ptr<uchar>(first_column(band) + y);
            for (std::size_t k = 0; k < slopes.size(); ++k) {
                const auto* v = bands_[band].values.ptr<float>(static_cast<int>(k) * count + y);
                for (int x = y / 2 % 5; x < bare_.cols; x += 5)
                    if (seen[x]) sizes[k].push_back(std::abs(v[x]));
            }
        }
    }
    for (std::size_t k = 0; k < slopes.size(); ++k) scatters_[k] = scatter_of(sizes[k]);
    scatter_ = std::sqrt(std::inner_product(scatters_.begin(), scatters_.end(), scatters_.begin(), 0.0) /
                         slope_count);
}

int LineEvidence::first_column(std::size_t band) const {
    return static_cast<int>(band) * band_columns;
}

int LineEvidence::columns_of(std::size_t band) const {
    return std::min(band_columns, columns() - first_column(band));
}

cv::Mat LineEvidence::ridges(std::size_t band) const {
    const int count = columns_of(band);
    const int room = 2 * static_cast<int>(std::ceil(beside_px));
    cv::Mat values(slope_count * count, bare_.cols, CV_32F);
    cv::Mat line(count + room, bare_.cols + room, CV_32F);
    for (int k = 0; k < slope_count; ++k) {
        cv::Mat of_slope = values.rowRange(k * count, (k + 1) * count);
        ridge(padded_, pad_ + first_column(band), pad_, slopes[static_cast<std::size_t>(k)], line_px_, line,
              of_slope);
    }
    return values;
}

// Each column of the strip less its median and over its scatter, never of less than the bench's: next to the
// item run the foot of its shadow and the colour that JPEG lets bleed over the edge, all along it, and
// neither is a fibre.
void LineEvidence::judge(cv::Mat& values, std::size_t band) const {
    const int count = columns_of(band);
    std::vector<float> seen;
    for (int row = 0; row < values.rows; ++row) {
        auto* v = values.ptr<float>(row);
        const int y = first_column(band) + row % count;
        const auto* m = bare_.ptr<uchar>(y);
        seen.clear();
        for (int x = y % 5; x < values.cols; x += 5)
            if (m[x]) seen.push_back(v[x]);
        float usual = 0.0F;
        auto scale = static_cast<float>(scatters_[static_cast<std::size_t>(row / count)]);
        constexpr std::size_t least = 20;
        if (seen.size() > least) {
            usual = quantile(seen, 0.5);
            for (float& s : seen) s = std::abs(s - usual);
            scale = std::max(scale, quantile(seen, 0.8) / 1.2816F);
        }
        const float per_scatter = 1.0F / scale;
        for (int x = 0; x < values.cols; ++x) v[x] = (v[x] - usual) * per_scatter;
    }
}

const float* LineEvidence::at_column(int column, int slope) const {
    const auto index = static_cast<std::size_t>(column / band_columns);
    Band& band = bands_[index];
    std::call_once(band.made, [&] {
        if (band.values.empty()) band.values = ridges(index);
        judge(band.values, index);
    });
    return band.values.ptr<float>(slope * columns_of(index) + column % band_columns);
}

}  // namespace frayhold::gauge
