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

// The strip with the item painted over by what lies beside it, row by row, so that a median near the item's edge sees
// the bench alone.
cv::Mat without_item(const Strip& strip, const cv::Mat& item) {
    cv::Mat out = strip.bgr.clone();
    for (int r = 0; r < out.rows; ++r) {
        auto* p = out.ptr<cv::Vec3b>(r);
        const auto* m = item.ptr<uchar>(r);
        int a = 0, b = out.cols - 1;
        while (a < out.cols && !m[a]) ++a;
        while (b > a && !m[b]) --b;
        if (a >= b) continue;
        const cv::Vec3b left = p[std::max(0, a - 1)], right = p[std::min(out.cols - 1, b + 1)];
        const int middle = (a + b) / 2;
        std::fill(p + a, p + middle, left);
        std::fill(p + middle, p + b + 1, right);
    }
    cv::Mat smooth;
    cv::blur(out, smooth, {1, 15});
    smooth.copyTo(out, item);
    return out;
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

// The same, once more without the fibres themselves and other rare marks.
std::optional<ColourSpread> spread_without_rare(const cv::Mat& detail, const cv::Mat& mask) {
    const auto all = spread_of<cv::Vec3f>(detail, mask);
    if (!all) return all;
    const auto usual = spread_of<cv::Vec3f>(detail, mask, 3.0 * std::sqrt(cv::trace(all->covariance) + 1.0));
    return usual ? usual : all;
}

// The step from bench to fibre as a thin fibre shows it: all of its lightness, but of its colour only what the halved
// colour resolution of JPEG and HEIC leaves of a line one pixel wide.
cv::Vec3d thin(const cv::Vec3d& step) {
    constexpr double colour_left = 0.4;
    const double luma = 0.114 * step[0] + 0.587 * step[1] + 0.299 * step[2];
    return cv::Vec3d::all((1 - colour_left) * luma) + colour_left * step;
}

void subtract_column_medians(cv::Mat& colours) {
    constexpr int row_step = 5;
    std::vector<float> column;
    std::vector<cv::Vec3f> usual(static_cast<std::size_t>(colours.cols));
    for (int c = 0; c < colours.cols; ++c)
        for (int channel = 0; channel < 3; ++channel) {
            column.clear();
            for (int r = 0; r < colours.rows; r += row_step) column.push_back(colours.at<cv::Vec3f>(r, c)[channel]);
            const auto middle = column.begin() + static_cast<std::ptrdiff_t>(column.size() / 2);
            std::nth_element(column.begin(), middle, column.end());
            usual[static_cast<std::size_t>(c)][channel] = *middle;
        }
    for (int r = 0; r < colours.rows; ++r)
        for (int c = 0; c < colours.cols; ++c) colours.at<cv::Vec3f>(r, c) -= usual[static_cast<std::size_t>(c)];
}

cv::Vec3d fisher_weights(const ColourSpread& detail, const cv::Vec3d& step) {
    // The floor stands for rounding to 8 bits and for JPEG, which alone would leave colours without scatter.
    cv::Matx33d covariance = detail.covariance;
    for (int i = 0; i < 3; ++i) covariance(i, i) += 0.5;
    const cv::Vec3d weights = covariance.inv() * step;
    const double spread = std::sqrt(weights.dot(detail.covariance * weights) + 0.5 * weights.dot(weights));
    return weights / spread;
}

// The weighed sum of each pixel's colours, kept within what a fibre can show. What differs from its surroundings by
// more light where a fibre would take some away, or the other way round, is no fibre whatever its hue.
cv::Mat projection(const cv::Mat& colours, const ColourSpread& bench, const cv::Vec3d& step) {
    const cv::Vec3f weights(fisher_weights(bench, step));
    const cv::Vec3f luma(0.114F, 0.587F, 0.299F);
    constexpr float plain_step = 8.0F;
    const float light = cv::Vec3f(step).dot(luma);
    const float sign = light > plain_step ? 1.0F : light < -plain_step ? -1.0F : 0.0F;
    cv::Mat out(colours.size(), CV_32F);
    for (int r = 0; r < colours.rows; ++r) {
        const auto* from = colours.ptr<cv::Vec3f>(r);
        auto* to = out.ptr<float>(r);
        for (int c = 0; c < colours.cols; ++c) {
            const float value = std::clamp(from[c].dot(weights), -8.0F, 16.0F);
            to[c] = sign * from[c].dot(luma) < 0 ? std::min(value, 0.0F) : value;
        }
    }
    return out;
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

// The value below which `share` of the values lie. Reorders them.
double centile(std::vector<float>& values, double share) {
    const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return static_cast<double>(*at);
}

// Robust standard deviation about zero over the bench. From the 68th and 95th centiles: wide tails, as of wood grain,
// must raise the measure.
double bench_scatter(const cv::Mat& values, const cv::Mat& bench) {
    std::vector<float> sizes;
    for (int r = 0; r < values.rows; r += 4) {
        const auto* v = values.ptr<float>(r);
        const auto* m = bench.ptr<uchar>(r);
        for (int c = (r / 4) % 3; c < values.cols; c += 3)
            if (m[c]) sizes.push_back(std::abs(v[c]));
    }
    if (sizes.size() < 100) return 1.0;
    return std::max({centile(sizes, 0.6827), centile(sizes, 0.9545) / 2, 1e-3});
}

// Takes from each column its median and puts it in units of its own scatter, but never of less than `least`: next to
// the item lie the steep foot of its shadow and the colour that JPEG lets run over the edge, all along it, and neither
// is a fibre. From the 50th and 75th centiles: fibres may fill up to a third of a column.
void judge_by_column(cv::Mat& values, double least) {
    constexpr int row_step = 4;
    std::vector<float> column, usual(static_cast<std::size_t>(values.cols)), scale(static_cast<std::size_t>(values.cols));
    for (int c = 0; c < values.cols; ++c) {
        column.clear();
        for (int r = 0; r < values.rows; r += row_step) column.push_back(values.at<float>(r, c));
        const auto i = static_cast<std::size_t>(c);
        usual[i] = static_cast<float>(centile(column, 0.5));
        for (float& v : column) v = std::abs(v - usual[i]);
        scale[i] = static_cast<float>(std::max({least, centile(column, 0.5) / 0.6745, centile(column, 0.75) / 1.1503}));
    }
    for (int r = 0; r < values.rows; ++r) {
        auto* p = values.ptr<float>(r);
        for (int c = 0; c < values.cols; ++c) {
            const auto i = static_cast<std::size_t>(c);
            p[c] = (p[c] - usual[i]) / scale[i];
        }
    }
}

// Largest line response over all directions, each in units of its own scatter on the bench and in its column.
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
        judge_by_column(sum, bench_scatter(sum, bench));
        cv::max(best, sum, best);
    }
    return best;
}

// How plainly each pixel belongs to a single fibre, and to a mass of them, both in standard deviations of the bench.
struct Evidence {
    cv::Mat line;
    cv::Mat strongest;  // the largest `line` within a millimetre
    cv::Mat mass;
};

// Places that pass, and are joined to the item by a chain of such places.
cv::Mat joined_to_item(const Evidence& evidence, double threshold, const cv::Mat& zone, const cv::Mat& item, int gap_px) {
    cv::Mat passing = (((evidence.line > threshold) & (evidence.line > 0.5 * evidence.strongest)) | (evidence.mass > threshold)) & (zone > 0);
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

    const cv::Mat detail = fine_detail(without_item(strip, item), strip.mm_per_px);
    const auto bench_colour = spread_of<cv::Vec3b>(strip.bgr, bench), sheath_colour = spread_of<cv::Vec3b>(strip.bgr, inner);
    const auto bench_detail = spread_without_rare(detail, bench);
    if (!bench_detail || !bench_colour || !sheath_colour) return halo;

    // A single fibre is lit on its own and shows paler than the sheath it came from.
    const cv::Vec3d fibre = 0.6 * sheath_colour->mean + 0.4 * cv::Vec3d(235, 235, 235) - bench_colour->mean;
    Evidence evidence;
    cv::Mat fine = projection(detail, *bench_detail, thin(fibre));
    fine.setTo(0, item);
    // Short lines follow a bent fibre to its end; long ones raise a faint fibre above the bench.
    evidence.line = cv::Mat::zeros(rows, columns, CV_32F);
    for (const double line_mm : {1.3, 2.6})
        cv::max(evidence.line, line_evidence(fine, bench, line_mm / strip.mm_per_px), evidence.line);
    const int near_px = std::max(1, static_cast<int>(std::lround(1.0 / strip.mm_per_px)));
    cv::dilate(evidence.line, evidence.strongest, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * near_px + 1, 2 * near_px + 1}));

    // A mass of fibres has no fine detail of its own: it shows against what its column looks like elsewhere.
    cv::Mat broad;
    strip.bgr.convertTo(broad, CV_32FC3);
    const int mass_px = std::max(1, static_cast<int>(std::lround(0.5 / strip.mm_per_px)));
    cv::blur(broad, broad, {2 * mass_px + 1, 2 * mass_px + 1});
    subtract_column_medians(broad);
    if (const auto bench_broad = spread_without_rare(broad, bench)) {
        evidence.mass = projection(broad, *bench_broad, fibre);
        judge_by_column(evidence.mass, bench_scatter(evidence.mass, bench));
        evidence.mass.setTo(0, item);
    } else {
        evidence.mass = cv::Mat::zeros(rows, columns, CV_32F);
    }

    halo.threshold = 4.0;
    const int gap_px = std::max(1, static_cast<int>(std::lround(0.4 / strip.mm_per_px)));
    const auto usual_extent = extent_of(joined_to_item(evidence, halo.threshold, zone, item, gap_px), 0, strip, light, sound);
    const auto strict_extent = extent_of(joined_to_item(evidence, 1.5 * halo.threshold, zone, item, gap_px), 0, strip, light, sound);
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
