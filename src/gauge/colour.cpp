// SPDX-License-Identifier: Apache-2.0
#include "gauge/colour.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <opencv2/core/utility.hpp>

namespace frayhold::gauge {
namespace {

// IEC 61966-2-1:1999, 5.2, the matrix from linear R, G, B to X, Y, Z. Its row sums are the white point, so
// that a grey is neutral to the last digit.
const cv::Matx33d xyz_from_rgb{0.4124, 0.3576, 0.1805,  //
                               0.2126, 0.7152, 0.0722,  //
                               0.0193, 0.1192, 0.9505};
constexpr double white_x = 0.4124 + 0.3576 + 0.1805;
constexpr double white_y = 1.0;
constexpr double white_z = 0.0193 + 0.1192 + 0.9505;

// CIE 15:2004, equations 8.6 to 8.11.
double lab_f(double t) {
    constexpr double knee = 6.0 / 29.0;
    return t > knee * knee * knee ? std::cbrt(t) : t / (3.0 * knee * knee) + 4.0 / 29.0;
}

Lab lab_of_f(double fx, double fy, double fz) {
    return {116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

const std::array<double, 256>& linear_table() {
    static const std::array<double, 256> table = [] {
        std::array<double, 256> values{};
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] = linear_of_srgb(static_cast<double>(i) / 255.0);
        return values;
    }();
    return table;
}

// lab_f over 0 to 1, joined by straight lines between equal steps. Largest error h^2 / 8 max |f''| = 4.4e-6,
// just above the knee: 0.0044 in a*, where two curves' errors meet.
class LabCurve {
  public:
    LabCurve() {
        for (std::size_t i = 0; i < ends_.size(); ++i)
            ends_[i] = static_cast<float>(lab_f(static_cast<double>(i) / steps));
    }
    [[nodiscard]] float operator()(float t) const {
        const float at = t * steps;
        const auto i = static_cast<std::size_t>(at);
        const float part = at - static_cast<float>(i);
        return ends_[i] + part * (ends_[i + 1] - ends_[i]);
    }

  private:
    static constexpr int steps = 4096;
    // One more than the ends: rounding may put white a hair above 1.
    std::array<float, steps + 2> ends_{};
};

constexpr double radians(double degrees) {
    return degrees * std::numbers::pi / 180.0;
}

// In degrees from 0 up to 360; 0 for a grey.
double hue_degrees(double a, double b) {
    if (a == 0.0 && b == 0.0) return 0.0;
    const double degrees = std::atan2(b, a) * 180.0 / std::numbers::pi;
    return degrees < 0.0 ? degrees + 360.0 : degrees;
}

double seventh_power_share(double chroma) {
    const double seventh = std::pow(chroma, 7);
    return std::sqrt(seventh / (seventh + std::pow(25.0, 7)));
}

}  // namespace

double Lab::chroma() const {
    return std::hypot(a, b);
}

double linear_of_srgb(double value) {
    return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
}

double srgb_of_linear(double light) {
    const double v = std::clamp(light, 0.0, 1.0);
    return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
}

Lab lab_of(const cv::Vec3b& bgr) {
    const auto& linear = linear_table();
    const cv::Vec3d xyz = xyz_from_rgb * cv::Vec3d(linear[bgr[2]], linear[bgr[1]], linear[bgr[0]]);
    return lab_of_f(lab_f(xyz[0] / white_x), lab_f(xyz[1] / white_y), lab_f(xyz[2] / white_z));
}

cv::Mat lab_image(const cv::Mat& bgr) {
    CV_Assert(bgr.type() == CV_8UC3);
    static const LabCurve curve;
    // One table a channel: its linear light times its column of the matrix, over the white.
    static const auto parts = [] {
        std::array<std::array<cv::Vec3f, 256>, 3> tables{};
        for (int channel = 0; channel < 3; ++channel)
            for (std::size_t i = 0; i < 256; ++i) {
                const double linear = linear_table()[i];
                const int column = 2 - channel;
                tables[static_cast<std::size_t>(channel)][i] =
                    cv::Vec3f(static_cast<float>(linear * xyz_from_rgb(0, column) / white_x),
                              static_cast<float>(linear * xyz_from_rgb(1, column) / white_y),
                              static_cast<float>(linear * xyz_from_rgb(2, column) / white_z));
            }
        return tables;
    }();
    cv::Mat lab(bgr.size(), CV_32FC3);
    cv::parallel_for_({0, bgr.rows}, [&](const cv::Range& rows) {
        for (int row = rows.start; row < rows.end; ++row) {
            const auto* from = bgr.ptr<cv::Vec3b>(row);
            auto* to = lab.ptr<cv::Vec3f>(row);
            for (int column = 0; column < bgr.cols; ++column) {
                const cv::Vec3b& pixel = from[column];
                const cv::Vec3f xyz = parts[0][pixel[0]] + parts[1][pixel[1]] + parts[2][pixel[2]];
                const float fx = curve(xyz[0]);
                const float fy = curve(xyz[1]);
                const float fz = curve(xyz[2]);
                to[column] = cv::Vec3f(116.0F * fy - 16.0F, 500.0F * (fx - fy), 200.0F * (fy - fz));
            }
        }
    });
    return lab;
}

double ciede2000(const Lab& first, const Lab& second, double kL) {
    // Step 1: C' and h' (equations 2 to 7).
    const double mean_chroma = (first.chroma() + second.chroma()) / 2.0;
    const double stretch = 1.0 + 0.5 * (1.0 - seventh_power_share(mean_chroma));
    const double c1 = std::hypot(stretch * first.a, first.b);
    const double c2 = std::hypot(stretch * second.a, second.b);
    const double h1 = hue_degrees(stretch * first.a, first.b);
    const double h2 = hue_degrees(stretch * second.a, second.b);
    const bool either_grey = c1 * c2 == 0.0;

    // Step 2: the differences (8 to 11).
    const double dL = second.L - first.L;
    const double dC = c2 - c1;
    double dh = either_grey ? 0.0 : h2 - h1;
    if (dh > 180.0) dh -= 360.0;
    if (dh < -180.0) dh += 360.0;
    const double dH = 2.0 * std::sqrt(c1 * c2) * std::sin(radians(dh / 2.0));

    // Step 3: the means and weights (12 to 22).
    const double L = (first.L + second.L) / 2.0;
    const double C = (c1 + c2) / 2.0;
    double h = h1 + h2;
    if (!either_grey) {
        if (std::abs(h1 - h2) > 180.0) h += h < 360.0 ? 360.0 : -360.0;
        h /= 2.0;
    }
    const double T = 1.0 - 0.17 * std::cos(radians(h - 30.0)) + 0.24 * std::cos(radians(2.0 * h)) +
                     0.32 * std::cos(radians(3.0 * h + 6.0)) - 0.20 * std::cos(radians(4.0 * h - 63.0));
    const double dtheta = 30.0 * std::exp(-std::pow((h - 275.0) / 25.0, 2));
    const double RC = 2.0 * seventh_power_share(C);
    const double from_middle = (L - 50.0) * (L - 50.0);
    const double SL = 1.0 + 0.015 * from_middle / std::sqrt(20.0 + from_middle);
    const double SC = 1.0 + 0.045 * C;
    const double SH = 1.0 + 0.015 * C * T;
    const double RT = -std::sin(radians(2.0 * dtheta)) * RC;

    const double l = dL / (kL * SL);
    const double c = dC / SC;
    const double hue = dH / SH;
    return std::sqrt(l * l + c * c + hue * hue + RT * c * hue);
}

}  // namespace frayhold::gauge
