// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_cells.h"

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "gauge/light.h"

namespace frayhold::gauge {
namespace {

constexpr double margin_mm = 5.0;

float median(std::vector<float>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

cv::Vec3f turned_log(const cv::Vec3f& linear) {
    // Darker than this, sensor noise would pass for colour.
    constexpr float dark = 0.01F;
    const float b = std::log(linear[0] + dark), g = std::log(linear[1] + dark),
                r = std::log(linear[2] + dark);
    return {(b + g + r) / std::sqrt(3.0F), (r - b) / std::sqrt(2.0F), (2 * g - r - b) / std::sqrt(6.0F)};
}

cv::Vec3f mean_light(const cv::Mat& bgr, int row, int column, int pixels) {
    const auto& linear = linear_of_srgb();
    cv::Vec3f sum;
    for (int r = row; r < row + pixels; ++r) {
        const auto* p = bgr.ptr<cv::Vec3b>(r) + column;
        for (int c = 0; c < pixels; ++c) sum += cv::Vec3f(linear[p[c][0]], linear[p[c][1]], linear[p[c][2]]);
    }
    return sum * (1.0F / static_cast<float>(pixels * pixels));
}

bool all_seen(const cv::Mat& seen, int row, int column, int pixels) {
    return cv::countNonZero(seen(cv::Rect(column, row, pixels, pixels))) == pixels * pixels;
}

// Takes out the usual colour of each column, then what whole rows have in common over about a centimetre.
void take_out_usual(WebCells& cells) {
    constexpr int row_step = 3;
    std::vector<float> values;
    cells.usual.assign(static_cast<std::size_t>(cells.across), {});
    for (int c = 0; c < cells.across; ++c)
        for (int part = 0; part < 3; ++part) {
            values.clear();
            for (int r = 0; r < cells.colour.rows; r += row_step)
                values.push_back(cells.colour.at<cv::Vec3f>(r, cells.margin + c)[part]);
            cells.usual[static_cast<std::size_t>(c)][part] = median(values);
        }
    const auto rows = static_cast<std::size_t>(cells.colour.rows);
    std::vector<std::vector<double>> common(3, std::vector<double>(rows));
    for (int r = 0; r < cells.colour.rows; ++r) {
        auto* row = cells.colour.ptr<cv::Vec3f>(r) + cells.margin;
        for (int c = 0; c < cells.across; ++c) row[c] -= cells.usual[static_cast<std::size_t>(c)];
        for (int part = 0; part < 3; ++part) {
            values.clear();
            for (int c = 0; c < cells.across; c += 2) values.push_back(row[c][part]);
            common[static_cast<std::size_t>(part)][static_cast<std::size_t>(r)] = median(values);
        }
    }
    // Every few rows will do for what changes slowly.
    constexpr std::size_t step = 4;
    const int reach = static_cast<int>(10.0 / cells.cell_mm / step);
    for (int part = 0; part < 3; ++part) {
        std::vector<double> some;
        for (std::size_t r = 0; r < rows; r += step)
            some.push_back(common[static_cast<std::size_t>(part)][r]);
        some = running_median(some, reach);
        for (int r = 0; r < cells.colour.rows; ++r) {
            auto* row = cells.colour.ptr<cv::Vec3f>(r) + cells.margin;
            const auto drift = static_cast<float>(some[static_cast<std::size_t>(r) / step]);
            for (int c = 0; c < cells.across; ++c) row[c][part] -= drift;
        }
    }
}

cv::Matx33d usual_covariance(const WebCells& cells) {
    const auto covariance_within = [&](double most_square) {
        cv::Matx33d products = cv::Matx33d::zeros();
        double n = 1.0;
        for (int r = 0; r < cells.colour.rows; r += 3) {
            const auto* row = cells.colour.ptr<cv::Vec3f>(r) + cells.margin;
            for (int c = 0; c < cells.across; ++c) {
                const cv::Vec3d v(row[c]);
                if (v.dot(v) > most_square) continue;
                products += v * v.t();
                n += 1.0;
            }
        }
        return products * (1.0 / n);
    };
    const cv::Matx33d all = covariance_within(1e9);
    cv::Matx33d usual = covariance_within(6.0 * cv::trace(all));
    usual = covariance_within(9.0 * cv::trace(usual));
    // 8-bit steps and noise, which alone would leave hue without scatter.
    constexpr double floor = 1e-3;
    for (int i = 0; i < 3; ++i) usual(i, i) += floor;
    return usual;
}

}  // namespace

WebCells web_cells(const WebEdges& web) {
    WebCells cells;
    const Strip& strip = web.strip;
    cells.pixels = std::max(1, static_cast<int>(std::lround(0.25 / strip.mm_per_px)));
    cells.cell_mm = cells.pixels * strip.mm_per_px;
    cells.margin = static_cast<int>(margin_mm / cells.cell_mm);
    double narrowest = 1e9;
    for (std::size_t s = 0; s < web.sound.left.size(); ++s)
        narrowest = std::min(narrowest, web.sound.right[s] - web.sound.left[s]);
    const int half = std::max(2, static_cast<int>(narrowest / 2 / cells.cell_mm));
    cells.across = 2 * half;
    const int columns = 2 * cells.margin + cells.across;
    const double rows_a_station = web.light.rows_a_station();
    const auto last_station = static_cast<double>(web.sound.left.size() - 1);
    cells.colour.create(strip.bgr.rows / cells.pixels, columns, CV_32FC3);
    cells.light.create(cells.colour.size(), CV_32FC3);
    cells.seen.create(cells.colour.size(), CV_8U);
    for (int r = 0; r < cells.colour.rows; ++r) {
        const auto s = static_cast<std::size_t>(
            std::clamp(cells.strip_row(r) / rows_a_station - 0.5, 0.0, last_station));
        const double left = strip.column_at(web.sound.left[s]), right = strip.column_at(web.sound.right[s]);
        auto* row = cells.colour.ptr<cv::Vec3f>(r);
        auto* light = cells.light.ptr<cv::Vec3f>(r);
        for (int c = 0; c < columns; ++c) {
            const int from_left = c - cells.margin, from_right = columns - cells.margin - c;
            const double from =
                c < columns / 2 ? left + from_left * cells.pixels : right - from_right * cells.pixels;
            const int column =
                std::clamp(static_cast<int>(std::lround(from + 0.5)), 0, strip.bgr.cols - cells.pixels);
            light[c] = mean_light(strip.bgr, r * cells.pixels, column, cells.pixels);
            row[c] = turned_log(light[c]);
            cells.seen.at<uchar>(r, c) = all_seen(strip.seen, r * cells.pixels, column, cells.pixels) ? 1 : 0;
        }
    }
    cells.bare_colour = cells.colour.clone();
    take_out_usual(cells);
    cells.web_covariance = usual_covariance(cells);
    return cells;
}

}  // namespace frayhold::gauge
