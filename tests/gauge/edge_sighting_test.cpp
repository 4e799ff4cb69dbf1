// SPDX-License-Identifier: Apache-2.0
#include "gauge/edge_sighting.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

namespace frayhold::gauge {
namespace {

// sRGB value of linear light (IEC 61966-2-1), rounded to 8 bits.
uchar srgb(double linear) {
    const double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1 / 2.4) - 0.055;
    return cv::saturate_cast<uchar>(255 * v);
}

// A straight edge through `at`, blurred by a Gaussian of that sigma: light towards `to_light`.
cv::Mat blurred_edge(cv::Point2d at, cv::Point2d to_light, double sigma, double dark, double light) {
    cv::Mat bgr(64, 64, CV_8UC3);
    for (int y = 0; y < bgr.rows; ++y)
        for (int x = 0; x < bgr.cols; ++x) {
            const double d = (cv::Point2d(x, y) - at).dot(to_light);
            const double share = 0.5 * (1 + std::erf(d / (sigma * std::sqrt(2.0))));
            bgr.at<cv::Vec3b>(y, x) = cv::Vec3b::all(srgb(dark + share * (light - dark)));
        }
    return bgr;
}

}  // namespace

TEST_CASE("A blurred edge is placed without bias, and its width told") {
    std::mt19937 random(5);
    const auto uniform = [&](double a, double b) {
        return std::uniform_real_distribution<double>(a, b)(random);
    };
    for (const double sigma : {0.7, 1.0, 1.5, 2.5}) {
        double sum = 0.0, worst = 0.0, width = 0.0;
        constexpr int count = 300;
        for (int i = 0; i < count; ++i) {
            const double angle = uniform(0, 2 * CV_PI), offset = uniform(-1.5, 1.5);
            const cv::Point2d to_light(std::cos(angle), std::sin(angle));
            const cv::Point2d near(uniform(28, 36), uniform(28, 36));
            const cv::Mat bgr =
                blurred_edge(near + to_light * offset, to_light, sigma, uniform(0.0, 0.2), uniform(0.5, 0.9));
            const auto sighting = sight_edge(bgr, near, to_light, 12.0, 0.1);
            REQUIRE(sighting);
            sum += sighting->offset_px - offset;
            worst = std::max(worst, std::abs(sighting->offset_px - offset));
            width += sighting->width_px / count;
        }
        CAPTURE(sigma, sum / count, worst, width);
        CHECK(std::abs(sum / count) < 0.02);
        CHECK(worst < 0.15);
        // A Gaussian's 10-90 % width is 2.563 sigma; bilinear sampling and the slope's own pixel add theirs.
        CHECK(width == Approx(2.563 * std::hypot(sigma, 0.5)).epsilon(0.08));
    }
}

TEST_CASE("A rise to the wrong side, a step too faint and the picture's end give no sighting") {
    const cv::Mat bgr = blurred_edge({32, 32}, {1, 0}, 1.0, 0.1, 0.2);
    CHECK(sight_edge(bgr, {32, 32}, {1, 0}, 5.0, 0.05));
    CHECK_FALSE(sight_edge(bgr, {32, 32}, {-1, 0}, 5.0, 0.05));
    CHECK_FALSE(sight_edge(bgr, {32, 32}, {1, 0}, 5.0, 0.15));
    CHECK_FALSE(sight_edge(bgr, {61, 32}, {1, 0}, 5.0, 0.05));
    CHECK(sight_edge(bgr, {32, 32}, {1, 0}, 5.0, 0.05)->step == Approx(0.1).margin(0.01));
}

}  // namespace frayhold::gauge
