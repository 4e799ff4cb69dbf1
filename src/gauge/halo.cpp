// SPDX-License-Identifier: Apache-2.0
#include "gauge/halo.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <opencv2/imgproc.hpp>

namespace frayhold::gauge {
namespace {

constexpr double skin_mm = 0.35;   // beside the sound edge: blur and single surface yarns
constexpr double reach_mm = 30.0;  // no fibre is looked for farther out than this

double interpolated(const std::vector<double>& values, const std::vector<double>& at_row, double row) {
    const double step = at_row.size() > 1 ? at_row[1] - at_row[0] : 1.0;
    const double i = std::clamp((row - at_row[0]) / step, 0.0, static_cast<double>(values.size() - 1));
    const auto a = static_cast<std::size_t>(i);
    const auto b = std::min(a + 1, values.size() - 1);
    return values[a] + (values[b] - values[a]) * (i - static_cast<double>(a));
}

// Fine detail: the strip less its local median over about 3 mm, taken on a reduced copy.
cv::Mat fine_detail(const cv::Mat& bgr, double mm_per_px) {
    const int reduce = std::max(1, static_cast<int>(std::lround(0.5 / mm_per_px)));
    cv::Mat small, detail, around;
    cv::resize(bgr, small, {std::max(1, bgr.cols / reduce), std::max(1, bgr.rows / reduce)}, 0, 0, cv::INTER_AREA);
    cv::medianBlur(small, small, 5);
    cv::resize(small, around, bgr.size(), 0, 0, cv::INTER_LINEAR);
    cv::subtract(bgr, around, detail, cv::noArray(), CV_32F);
    return detail;
}

struct Evidence {
    cv::Mat z;     // CV_32F: the best-weighed colour of each pixel, unit variance on the bench
    cv::Mat zone;  // CV_8U: 1 where fibres are looked for
};

// Mean sRGB colour of pixels under a mask, and covariance.
struct ColourSpread {
    cv::Vec3d mean;
    cv::Matx33d covariance;
};

template <class Pixel>
std::optional<ColourSpread> spread_of(const cv::Mat& pixels, const cv::Mat& mask, double most_distance = 1e9) {
    cv::Vec3d sum;
    cv::Matx33d products = cv::Matx33d::zeros();
    double n = 0;
    constexpr int stride = 2;
    for (int r = 0; r < pixels.rows; r += stride) {
        const auto* p = pixels.ptr<Pixel>(r);
        const auto* m = mask.ptr<uchar>(r);
        for (int c = 0; c < pixels.cols; ++c) {
            if (!m[c]) continue;
            const cv::Vec3d v(p[c]);
            if (v.dot(v) > most_distance * most_distance) continue;
            sum += v;
            products += v * v.t();
            n += 1;
        }
    }
    if (n < 200) return std::nullopt;
    const cv::Vec3d mean = sum / n;
    return ColourSpread{mean, products * (1.0 / n) - mean * mean.t()};
}

cv::Vec3d fisher_weights(const ColourSpread& detail, const cv::Vec3d& step) {
    // The floor stands for rounding to 8 bits and for JPEG, which alone would leave colours without scatter.
    cv::Matx33d covariance = detail.covariance;
    for (int i = 0; i < 3; ++i) covariance(i, i) += 0.5;
    const cv::Vec3d weights = covariance.inv() * step;
    const double spread = std::sqrt(weights.dot(detail.covariance * weights) + 0.5 * weights.dot(weights));
    return weights / spread;
}

// Pixel steps of a line of `length_px` through the middle, in one of `directions` directions.
std::vector<cv::Point> line_steps(int direction, int directions, double length_px) {
    const double angle = CV_PI * direction / directions;
    std::vector<cv::Point> steps;
    const int half = std::max(1, static_cast<int>(std::lround(length_px / 2)));
    for (int i = -half; i <= half; ++i) {
        const cv::Point p(static_cast<int>(std::lround(i * std::cos(angle))), static_cast<int>(std::lround(i * std::sin(angle))));
        if (steps.empty() || steps.back() != p) steps.push_back(p);
    }
    return steps;
}

// Robust standard deviation about zero of `values` under `mask`.
double scatter(const cv::Mat& values, const cv::Mat& mask) {
    std::vector<float> sizes;
    for (int r = 0; r < values.rows; r += 3) {
        const auto* v = values.ptr<float>(r);
        const auto* m = mask.ptr<uchar>(r);
        for (int c = r % 2; c < values.cols; c += 2)
            if (m[c]) sizes.push_back(std::abs(v[c]));
    }
    if (sizes.size() < 100) return 1.0;
    // From the 68th and 95th centiles: wide tails, as of wood grain, must raise the measure.
    const auto centile = [&](double share) {
        const auto at = sizes.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(sizes.size() - 1));
        std::nth_element(sizes.begin(), at, sizes.end());
        return static_cast<double>(*at);
    };
    return std::max({centile(0.6827), centile(0.9545) / 2, 1e-3});
}

// Largest line response over all directions, each in units of its own scatter on the bench.
cv::Mat line_evidence(const cv::Mat& z, const cv::Mat& bench, double length_px) {
    constexpr int directions = 8;
    const int pad = static_cast<int>(std::ceil(length_px / 2)) + 1;
    cv::Mat padded;
    cv::copyMakeBorder(z, padded, pad, pad, pad, pad, cv::BORDER_REFLECT);
    cv::Mat best = cv::Mat::zeros(z.size(), CV_32F);
    for (int d = 0; d < directions; ++d) {
        cv::Mat sum = cv::Mat::zeros(z.size(), CV_32F);
        for (const cv::Point step : line_steps(d, directions, length_px))
            sum += padded(cv::Rect(pad + step.x, pad + step.y, z.cols, z.rows));
        sum *= 1.0 / scatter(sum, bench);
        cv::max(best, sum, best);
    }
    return best;
}

// Places that pass, and are joined to the item by a chain of such places.
cv::Mat joined_to_item(const cv::Mat& evidence, const cv::Mat& strongest, double threshold, const cv::Mat& zone,
                       const cv::Mat& item, int gap_px) {
    cv::Mat passing = (evidence > threshold) & (evidence > 0.5 * strongest) & (zone > 0);
    cv::Mat joined = passing | (item > 0);
    const cv::Mat disc = cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * gap_px + 1, 2 * gap_px + 1});
    cv::dilate(joined, joined, disc);
    cv::Mat labels;
    const int count = cv::connectedComponents(joined, labels, 8, CV_32S);
    std::vector<char> is_item(static_cast<std::size_t>(count), 0);
    for (int r = 0; r < labels.rows; ++r)
        for (int c = 0; c < labels.cols; ++c)
            if (item.at<uchar>(r, c)) is_item[static_cast<std::size_t>(labels.at<int>(r, c))] = 1;
    for (int r = 0; r < labels.rows; ++r)
        for (int c = 0; c < labels.cols; ++c)
            if (!is_item[static_cast<std::size_t>(labels.at<int>(r, c))]) passing.at<uchar>(r, c) = 0;
    return passing;
}

struct Extent {
    std::vector<double> left, right;
};

// Outermost passing pixel of each station; the sound edge where there is none. A station needs a few pixels to count.
Extent extent_of(const cv::Mat& passing, int first_row, const Strip& strip, const StationLight& light, const SoundEdges& sound) {
    Extent extent{sound.left, sound.right};
    const double rows_a_station = light.row.size() > 1 ? light.row[1] - light.row[0] : 1.0;
    for (int r = 0; r < passing.rows; ++r) {
        const double row = r + first_row;
        const auto s = static_cast<std::size_t>(std::clamp(row / rows_a_station, 0.0, static_cast<double>(sound.left.size() - 1)));
        const auto* p = passing.ptr<uchar>(r);
        for (int c = 0; c < passing.cols; ++c) {
            if (!p[c]) continue;
            const double t = strip.across_mm(c);
            if (t < sound.left[s]) extent.left[s] = std::min(extent.left[s], t);
            if (t > sound.right[s]) extent.right[s] = std::max(extent.right[s], t);
        }
    }
    return extent;
}

// Outward from the sound edge to where the mean cover of a station falls to a half.
double dense_edge(const Strip& strip, const StationLight& light, std::size_t station, double sound, double outermost, double side) {
    const auto* row = light.mean.ptr<cv::Vec3f>(static_cast<int>(station));
    const auto mean = [&](double from_mm, double to_mm) {
        const int a = std::clamp(static_cast<int>(std::lround(strip.column_at(std::min(from_mm, to_mm)))), 0, strip.bgr.cols - 1);
        const int b = std::clamp(static_cast<int>(std::lround(strip.column_at(std::max(from_mm, to_mm)))), a, strip.bgr.cols - 1);
        cv::Vec3d sum;
        for (int c = a; c <= b; ++c) sum += cv::Vec3d(row[c]);
        return sum / (b - a + 1);
    };
    const cv::Vec3d fibre = mean(0.35 * sound, 0.9 * sound);
    const cv::Vec3d bench = mean(outermost + side * 1.0, outermost + side * 4.0);
    const cv::Vec3d axis = fibre - bench;
    const double length2 = axis.dot(axis);
    if (length2 < 1e-6) return sound;
    double at = sound;
    for (double t = sound; side * (outermost - t) > 0; t += side * strip.mm_per_px) {
        const double cover = (mean(t, t + side * 0.3) - bench).dot(axis) / length2;
        if (cover < 0.5) break;
        at = t;
    }
    return at;
}

}  // namespace

Halo find_halo(const Strip& strip, const StationLight& light, const SoundEdges& sound) {
    const int rows = strip.bgr.rows, columns = strip.bgr.cols;
    Halo halo{sound.left, sound.right, sound.left, sound.right, sound.left, sound.right, 0.0};

    cv::Mat zone = cv::Mat::zeros(rows, columns, CV_8U), item = zone.clone(), bench = zone.clone(), inner = zone.clone();
    for (int r = 0; r < rows; ++r) {
        const double left = interpolated(sound.left, light.row, r), right = interpolated(sound.right, light.row, r);
        const auto mark = [&](cv::Mat& mask, double from_mm, double to_mm) {
            const int a = std::clamp(static_cast<int>(std::ceil(strip.column_at(from_mm))), 0, columns);
            const int b = std::clamp(static_cast<int>(std::floor(strip.column_at(to_mm))) + 1, a, columns);
            std::fill(mask.ptr<uchar>(r) + a, mask.ptr<uchar>(r) + b, uchar{1});
        };
        mark(zone, left - reach_mm, left - skin_mm);
        mark(zone, right + skin_mm, right + reach_mm);
        mark(bench, left - reach_mm, left - 1.0);
        mark(bench, right + 1.0, right + reach_mm);
        mark(item, left - skin_mm, right + skin_mm);
        mark(inner, 0.6 * left, 0.6 * right);
    }
    zone &= strip.seen;
    bench &= strip.seen;

    const cv::Mat detail = fine_detail(strip.bgr, strip.mm_per_px);
    auto bench_detail = spread_of<cv::Vec3f>(detail, bench);
    const auto bench_colour = spread_of<cv::Vec3b>(strip.bgr, bench), sheath_colour = spread_of<cv::Vec3b>(strip.bgr, inner);
    if (!bench_detail || !bench_colour || !sheath_colour) return halo;
    // Once more without the fibres themselves and other rare marks.
    const double usual = std::sqrt(cv::trace(bench_detail->covariance) + 1.0);
    if (const auto again = spread_of<cv::Vec3f>(detail, bench, 3.0 * usual)) bench_detail = again;

    // A single fibre is lit on its own and shows paler than the sheath it came from.
    const cv::Vec3d sheath = sheath_colour->mean - bench_colour->mean;
    const cv::Vec3d pale = 0.5 * sheath_colour->mean + 0.5 * cv::Vec3d(235, 235, 235) - bench_colour->mean;
    const cv::Vec3d w1 = fisher_weights(*bench_detail, sheath), w2 = fisher_weights(*bench_detail, pale);
    cv::Mat z(rows, columns, CV_32F);
    for (int r = 0; r < rows; ++r) {
        const auto* from = detail.ptr<cv::Vec3f>(r);
        auto* to = z.ptr<float>(r);
        const cv::Vec3f a(w1), b(w2);
        for (int c = 0; c < columns; ++c) to[c] = std::clamp(std::max(from[c].dot(a), from[c].dot(b)), -6.0F, 12.0F);
    }
    // The best of two directions leans upward on a bare bench.
    z -= cv::mean(z, bench)[0];
    z.setTo(0, item);

    constexpr double line_mm = 1.3;
    const cv::Mat evidence = line_evidence(z, bench, line_mm / strip.mm_per_px);
    cv::Mat strongest;
    const int near_px = std::max(1, static_cast<int>(std::lround(1.0 / strip.mm_per_px)));
    cv::dilate(evidence, strongest, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * near_px + 1, 2 * near_px + 1}));

    halo.threshold = 5.0;
    const int gap_px = std::max(1, static_cast<int>(std::lround(0.4 / strip.mm_per_px)));
    const auto usual_extent = extent_of(joined_to_item(evidence, strongest, halo.threshold, zone, item, gap_px), 0, strip, light, sound);
    const auto strict_extent = extent_of(joined_to_item(evidence, strongest, 1.5 * halo.threshold, zone, item, gap_px), 0, strip, light, sound);
    halo.left = usual_extent.left;
    halo.right = usual_extent.right;
    halo.strict_left = strict_extent.left;
    halo.strict_right = strict_extent.right;
    for (std::size_t s = 0; s < sound.left.size(); ++s) {
        if (halo.left[s] < sound.left[s]) halo.dense_left[s] = dense_edge(strip, light, s, sound.left[s], halo.left[s], -1.0);
        if (halo.right[s] > sound.right[s]) halo.dense_right[s] = dense_edge(strip, light, s, sound.right[s], halo.right[s], 1.0);
    }
    return halo;
}

}  // namespace frayhold::gauge
