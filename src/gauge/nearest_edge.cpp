// SPDX-License-Identifier: Apache-2.0
#include "gauge/nearest_edge.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace frayhold::gauge {
namespace {

// Bilinear, clamped to the picture.
double at(const cv::Mat& values, double x, double y) {
    x = std::clamp(x, 0.0, values.cols - 1.001);
    y = std::clamp(y, 0.0, values.rows - 1.001);
    const int c = int(x), r = int(y);
    const double fx = x - c, fy = y - r;
    return (1 - fy) * ((1 - fx) * values.at<float>(r, c) + fx * values.at<float>(r, c + 1)) +
           fy * ((1 - fx) * values.at<float>(r + 1, c) + fx * values.at<float>(r + 1, c + 1));
}

}  // namespace

std::optional<cv::Point2d> nearest_edge(const cv::Mat& bgr, cv::Point2d picked_px, double within_px) {
    constexpr double most_px = 60.0;
    constexpr int margin = 4;
    constexpr double least_slope = 4.0;  // grey levels a pixel: above noise and grain
    const double within = std::clamp(within_px, 1.0, most_px);
    const int reach = int(std::ceil(within)) + margin;
    const cv::Rect whole(0, 0, bgr.cols, bgr.rows);
    const cv::Rect window =
        cv::Rect(cvRound(picked_px.x) - reach, cvRound(picked_px.y) - reach, 2 * reach + 1, 2 * reach + 1) &
        whole;
    if (window.width <= 2 * margin || window.height <= 2 * margin) return std::nullopt;

    cv::Mat grey, smooth, dx, dy, slope;
    cv::cvtColor(bgr(window), grey, cv::COLOR_BGR2GRAY);
    cv::GaussianBlur(grey, smooth, {5, 5}, 1.0);
    constexpr double per_px = 1.0 / 8.0;  // Sobel's weights
    cv::Sobel(smooth, dx, CV_32F, 1, 0, 3, per_px);
    cv::Sobel(smooth, dy, CV_32F, 0, 1, 3, per_px);
    cv::magnitude(dx, dy, slope);

    const cv::Point2d picked = picked_px - cv::Point2d(window.tl());
    double best = 0.0;
    cv::Point place;
    for (int r = 1; r + 1 < slope.rows; ++r)
        for (int c = 1; c + 1 < slope.cols; ++c) {
            const double away = cv::norm(cv::Point2d(c, r) - picked) / within;
            if (away > 1.0) continue;
            const double worth = slope.at<float>(r, c) * (1.0 - 0.6 * away);
            if (worth > best) {
                best = worth;
                place = {c, r};
            }
        }
    if (best == 0.0 || slope.at<float>(place) < least_slope) return std::nullopt;
    const double steep = slope.at<float>(place);
    const cv::Point2d across(dx.at<float>(place) / steep, dy.at<float>(place) / steep);
    const double before = at(slope, place.x - across.x, place.y - across.y);
    const double after = at(slope, place.x + across.x, place.y + across.y);
    const double bend = before - 2 * steep + after;
    const double shift = bend < 0 ? std::clamp(0.5 * (before - after) / bend, -1.0, 1.0) : 0.0;
    return cv::Point2d(place) + shift * across + cv::Point2d(window.tl());
}

}  // namespace frayhold::gauge
