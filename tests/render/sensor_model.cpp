// SPDX-License-Identifier: Apache-2.0
#include "render/sensor_model.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "render/random.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

std::vector<float> gauss_kernel(double sigma) {
    const int radius = std::max(1, static_cast<int>(std::ceil(3.2 * sigma)));
    std::vector<float> kernel;
    double sum = 0.0;
    for (int i = -radius; i <= radius; ++i) sum += std::exp(-0.5 * i * i / (sigma * sigma));
    for (int i = -radius; i <= radius; ++i)
        kernel.push_back(static_cast<float>(std::exp(-0.5 * i * i / (sigma * sigma)) / sum));
    return kernel;
}

// One row of `from`, blurred up and down into `to`; edges repeat the outermost row.
void blur_columns(const cv::Mat& from, int y, const std::vector<float>& kernel, std::vector<float>& to) {
    const int radius = static_cast<int>(kernel.size() / 2);
    const auto n = static_cast<std::size_t>(from.cols) * 3;
    std::fill(to.begin(), to.end(), 0.F);
    for (int k = -radius; k <= radius; ++k) {
        const auto* row = from.ptr<float>(std::clamp(y + k, 0, from.rows - 1));
        const float w = kernel[static_cast<std::size_t>(k + radius)];
        for (std::size_t i = 0; i < n; ++i) to[i] += w * row[i];
    }
}

// `from` holds `radius` pixels of margin at both ends.
void blur_row(const std::vector<float>& from, const std::vector<float>& kernel, std::vector<float>& to) {
    std::fill(to.begin(), to.end(), 0.F);
    const std::size_t n = to.size();
    for (std::size_t k = 0; k < kernel.size(); ++k) {
        const float w = kernel[k];
        const float* shifted = from.data() + 3 * k;
        for (std::size_t i = 0; i < n; ++i) to[i] += w * shifted[i];
    }
}

// Linear light in 1/4095 steps to sRGB; noise dithers between steps.
std::array<std::uint8_t, 4096> srgb_table() {
    std::array<std::uint8_t, 4096> table{};
    for (std::size_t i = 0; i < table.size(); ++i)
        table[i] =
            static_cast<std::uint8_t>(std::lround(255.F * srgb_of_linear(static_cast<float>(i) / 4095.F)));
    return table;
}

cv::Mat smear(const cv::Mat& picture, double length_px, double direction) {
    const int taps = std::max(3, static_cast<int>(length_px) | 1);
    cv::Mat out(picture.size(), CV_32FC3, cv::Scalar::all(0));
    for (int t = 0; t < taps; ++t) {
        const double along = length_px * (static_cast<double>(t) / (taps - 1) - 0.5);
        const int dx = static_cast<int>(std::lround(along * std::cos(direction)));
        const int dy = static_cast<int>(std::lround(along * std::sin(direction)));
        for (int y = 0; y < picture.rows; ++y) {
            const auto* from = picture.ptr<cv::Vec3f>(std::clamp(y + dy, 0, picture.rows - 1));
            auto* to = out.ptr<cv::Vec3f>(y);
            for (int x = 0; x < picture.cols; ++x)
                to[x] += (1.F / static_cast<float>(taps)) * from[std::clamp(x + dx, 0, picture.cols - 1)];
        }
    }
    return out;
}

}  // namespace

cv::Mat develop(const cv::Mat& linear, const Sensor& sensor, std::uint64_t seed) {
    const cv::Mat source =
        sensor.motion_px > 0.0 ? smear(linear, sensor.motion_px, sensor.motion_heading) : linear;
    const std::vector<float> kernel = gauss_kernel(sensor.blur_px);
    const std::size_t radius = kernel.size() / 2;
    const auto columns = static_cast<std::size_t>(source.cols);

    Random random(seed ^ 0x5E2502ULL);
    constexpr std::size_t pool = 1U << 16;
    std::vector<float> normals(pool);
    for (float& value : normals) value = static_cast<float>(random.normal());
    // The square root of the variance, by value.
    std::array<float, 1025> deviation{};
    for (std::size_t i = 0; i < deviation.size(); ++i)
        deviation[i] = static_cast<float>(
            std::sqrt(sensor.shot * static_cast<double>(i) / 1024.0 + sensor.read * sensor.read));
    const auto table = srgb_table();

    cv::Mat bgr(source.size(), CV_8UC3);
    std::vector<float> tall(columns * 3);
    std::vector<float> padded((columns + 2 * radius) * 3);
    std::vector<float> line(columns * 3);
    for (int y = 0; y < source.rows; ++y) {
        blur_columns(source, y, kernel, tall);
        std::copy(tall.begin(), tall.end(), padded.begin() + static_cast<std::ptrdiff_t>(3 * radius));
        for (std::size_t i = 0; i < 3 * radius; ++i) {
            padded[i] = tall[i % 3];
            padded[(columns + radius) * 3 + i] = tall[(columns - 1) * 3 + i % 3];
        }
        blur_row(padded, kernel, line);
        auto* out = bgr.ptr<std::uint8_t>(y);
        std::size_t at = static_cast<std::size_t>(random.word()) % pool;
        const std::size_t stride = (static_cast<std::size_t>(random.word()) % pool) | 1U;
        for (std::size_t x = 0; x < columns; ++x) {
            for (std::size_t c = 0; c < 3; ++c) {
                at = (at + stride) & (pool - 1);
                const float value = std::min(line[3 * x + c], 4.F);
                const float level = clamp01(value);
                const float noisy = value + normals[at] * deviation[static_cast<std::size_t>(level * 1024.F)];
                out[3 * x + 2 - c] = table[static_cast<std::size_t>(clamp01(noisy) * 4095.F + 0.5F)];
            }
        }
    }
    return bgr;
}

}  // namespace frayhold::render
