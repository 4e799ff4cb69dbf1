// SPDX-License-Identifier: Apache-2.0
#include "gauge/even_strip.h"

#include <array>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "gauge/colour.h"
#include "gauge/light.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// Nothing finer than this is looked at: a core bundle is 1 mm thick or more.
constexpr double working_mm_per_px = 0.2;
constexpr double limb_share = 0.06;  // of the width
constexpr double piece_mm = 10.0;
constexpr std::size_t least_pieces = 4;
constexpr double light_reach_mm = 40.0;
constexpr double light_step_mm = 5.0;
constexpr std::size_t across_steps = 32;

// The dense edges at working size, one entry a row.
struct Edges {
    std::vector<float> left;
    std::vector<float> right;

    [[nodiscard]] std::size_t step_across(int row, int column) const {
        const auto at = static_cast<std::size_t>(row);
        const float share = (static_cast<float>(column) - left[at]) / (right[at] - left[at]);
        const float step = share * static_cast<float>(across_steps);
        return static_cast<std::size_t>(std::clamp(step, 0.0F, static_cast<float>(across_steps - 1)));
    }
};

struct Reduced {
    EvenStrip strip;
    cv::Mat bgr;
    Edges edges;
};

std::optional<Reduced> reduced(const RopeStrip& strip) {
    std::vector<double> widths;
    double first = strip.bgr.cols;
    double last = 0.0;
    for (std::size_t row = 0; row < strip.left.size(); ++row) {
        const double width = strip.right[row] - strip.left[row];
        if (std::isnan(width)) continue;
        widths.push_back(width);
        first = std::min(first, strip.left[row]);
        last = std::max(last, strip.right[row]);
    }
    if (widths.empty()) return std::nullopt;

    Reduced out;
    EvenStrip& even = out.strip;
    even.factor = std::max(1, static_cast<int>(std::lround(working_mm_per_px / strip.mm_per_px)));
    even.mm_per_px = strip.mm_per_px * even.factor;
    even.width_mm = quantile(widths, 0.5) * strip.mm_per_px;
    even.first_column = std::max(0, static_cast<int>(first));
    const int columns = std::min(strip.bgr.cols, static_cast<int>(last) + 1) - even.first_column;
    const cv::Size size(columns / even.factor, strip.bgr.rows / even.factor);
    if (size.width <= 0 || size.height <= 0) return std::nullopt;
    const cv::Rect part(even.first_column, 0, size.width * even.factor, size.height * even.factor);
    cv::resize(strip.bgr(part), out.bgr, size, 0, 0, cv::INTER_AREA);
    cv::Mat seen(size, CV_8U, cv::Scalar(255));
    if (!strip.seen.empty()) cv::resize(strip.seen(part) != 0, seen, size, 0, 0, cv::INTER_AREA);

    even.rope = cv::Mat::zeros(size, CV_8U);
    even.inner = cv::Mat::zeros(size, CV_8U);
    const auto fill = [&](cv::Mat& mask, int row, double left, double right) {
        const int end = std::min(size.width, static_cast<int>(right));
        for (int column = std::max(0, static_cast<int>(std::ceil(left))); column < end; ++column)
            if (seen.at<uchar>(row, column) == 255) mask.at<uchar>(row, column) = 255;
    };
    for (int row = 0; row < size.height; ++row) {
        const auto from = static_cast<std::size_t>(row * even.factor + even.factor / 2);
        even.damaged.push_back(strip.damaged.empty() || strip.damaged[from]);
        const double left = (strip.left[from] - even.first_column) / even.factor;
        const double right = (strip.right[from] - even.first_column) / even.factor;
        out.edges.left.push_back(static_cast<float>(left));
        out.edges.right.push_back(static_cast<float>(right));
        if (std::isnan(right - left)) continue;
        fill(even.rope, row, left, right);
        const double limb = limb_share * (right - left);
        fill(even.inner, row, left + limb, right - limb);
    }
    return out;
}

std::vector<Piece> undamaged_pieces(const EvenStrip& strip, bool all_rows) {
    std::vector<Piece> pieces;
    const auto rows_a_piece = static_cast<std::size_t>(strip.px(piece_mm));
    for (int row = 0; row < strip.inner.rows; ++row) {
        if (!all_rows && strip.damaged[static_cast<std::size_t>(row)]) continue;
        if (cv::countNonZero(strip.inner.row(row)) == 0) continue;
        if (pieces.empty() || pieces.back().size() == rows_a_piece) pieces.emplace_back();
        pieces.back().push_back(row);
    }
    if (!pieces.empty() && pieces.back().size() < rows_a_piece / 2) pieces.pop_back();
    return pieces;
}

// A change of light by a factor g multiplies L* + 16, a* and b* by the cube root of g (CIE 15:2004,
// equations 8.3 to 8.8, above the linear toe).
float root_of_light(const cv::Vec3f& lab) {
    return lab[0] + 16.0F;
}

// How light each stretch of the rope is, as a share of the usual: one entry a row.
std::vector<float> light_along(const EvenStrip& strip) {
    const int rows = strip.lab.rows;
    std::vector<float> of_rows(static_cast<std::size_t>(rows), std::numeric_limits<float>::quiet_NaN());
    std::vector<float> values;
    std::vector<float> all;
    for (int row = 0; row < rows; ++row) {
        values.clear();
        visit_pixels(strip.inner, {row},
                     [&](int r, int c) { values.push_back(root_of_light(strip.lab.at<cv::Vec3f>(r, c))); });
        if (values.empty()) continue;
        all.push_back(quantile(values, 0.5));
        of_rows[static_cast<std::size_t>(row)] = all.back();
    }
    const float usual = quantile(all, 0.5);
    std::vector<float> light(static_cast<std::size_t>(rows), 1.0F);
    const int reach = strip.px(light_reach_mm);
    const int step = strip.px(light_step_mm);
    for (int from = 0; from < rows; from += step) {
        const int to = std::min(rows, from + step);
        values.clear();
        for (int near = std::max(0, from - reach); near < std::min(rows, to + reach); ++near)
            if (const float v = of_rows[static_cast<std::size_t>(near)]; !std::isnan(v)) values.push_back(v);
        if (values.empty()) continue;
        std::fill(light.begin() + from, light.begin() + to, quantile(values, 0.5) / usual);
    }
    return light;
}

// How light the undamaged rope is from limb to limb, as a share of the usual, once it is even along.
std::array<float, across_steps> light_across(const EvenStrip& strip, const Edges& edges,
                                             const std::vector<float>& along) {
    std::array<std::vector<float>, across_steps> values;
    for (const Piece& rows : strip.pieces)
        visit_pixels(strip.rope, rows, [&](int row, int column) {
            values.at(edges.step_across(row, column))
                .push_back(root_of_light(strip.lab.at<cv::Vec3f>(row, column)) /
                           along[static_cast<std::size_t>(row)]);
        });
    std::array<float, across_steps> light{};
    std::vector<float> all;
    for (std::size_t i = 0; i < values.size(); ++i) {
        if (values.at(i).empty()) continue;
        all.push_back(quantile(values.at(i), 0.5));
        light.at(i) = all.back();
    }
    const float usual = quantile(all, 0.5);
    for (float& each : light) each = each > 0.0F ? each / usual : 1.0F;
    return light;
}

}  // namespace

std::optional<EvenStrip> even_out(const RopeStrip& strip) {
    auto small = reduced(strip);
    if (!small) return std::nullopt;
    EvenStrip& even = small->strip;
    even.pieces = undamaged_pieces(even, strip.damaged.empty());
    if (even.pieces.size() < least_pieces) return std::nullopt;

    even.lab = lab_image(small->bgr);
    even.linear = cv::Mat::zeros(even.lab.size(), CV_32FC3);
    even.gain = cv::Mat::ones(even.lab.size(), CV_32F);
    const std::vector<float> along = light_along(even);
    const std::array<float, across_steps> across = light_across(even, small->edges, along);
    const auto& linear = linear_of_srgb();
    visit_pixels(even.rope, [&](int row, int column) {
        const float root =
            1.0F / (along[static_cast<std::size_t>(row)] * across.at(small->edges.step_across(row, column)));
        auto& lab = even.lab.at<cv::Vec3f>(row, column);
        lab = {root * root_of_light(lab) - 16.0F, root * lab[1], root * lab[2]};
        const auto& bgr = small->bgr.at<cv::Vec3b>(row, column);
        const float gain = root * root * root;
        even.gain.at<float>(row, column) = gain;
        even.linear.at<cv::Vec3f>(row, column) =
            gain * cv::Vec3f(linear[bgr[0]], linear[bgr[1]], linear[bgr[2]]);
    });
    return std::move(even);
}

}  // namespace frayhold::gauge
