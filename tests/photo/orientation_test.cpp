// SPDX-License-Identifier: Apache-2.0
#include "photo/orientation.h"

#include <catch2/catch.hpp>
#include <functional>
#include <opencv2/core.hpp>

#include "photo/turned.h"

using frayhold::photo::turned;

namespace {

// Each pixel says where it is.
cv::Mat numbered(int width, int height) {
    cv::Mat bgr(height, width, CV_8UC3);
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x)
            bgr.at<cv::Vec3b>(y, x) =
                cv::Vec3b(static_cast<uchar>(x), static_cast<uchar>(y), static_cast<uchar>(x / 256));
    return bgr;
}

}  // namespace

// CIPA DC-008 (Exif 2.3), 4.6.4, Orientation: "the 0th row is at the visual ..., the 0th column at the visual
// ...". For each, where the stored pixel (x, y) of a w x h picture must come to lie.
TEST_CASE("each of the eight orientations puts every pixel where the standard says") {
    const int w = 301;
    const int h = 137;
    using Place = std::function<cv::Point(int, int)>;
    const std::vector<std::pair<int, Place>> cases{
        {1, [&](int x, int y) { return cv::Point(x, y); }},                  // top, left
        {2, [&](int x, int y) { return cv::Point(w - 1 - x, y); }},          // top, right
        {3, [&](int x, int y) { return cv::Point(w - 1 - x, h - 1 - y); }},  // bottom, right
        {4, [&](int x, int y) { return cv::Point(x, h - 1 - y); }},          // bottom, left
        {5, [&](int x, int y) { return cv::Point(y, x); }},                  // left, top
        {6, [&](int x, int y) { return cv::Point(h - 1 - y, x); }},          // right, top
        {7, [&](int x, int y) { return cv::Point(h - 1 - y, w - 1 - x); }},  // right, bottom
        {8, [&](int x, int y) { return cv::Point(y, w - 1 - x); }},          // left, bottom
    };
    const cv::Mat stored = numbered(w, h);
    for (const auto& [orientation, place] : cases) {
        INFO("orientation " << orientation);
        const cv::Mat upright = turned(stored, orientation);
        REQUIRE(upright.size() == (orientation < 5 ? cv::Size(w, h) : cv::Size(h, w)));
        int wrong = 0;
        for (int y = 0; y < h; ++y)
            for (int x = 0; x < w; ++x)
                if (upright.at<cv::Vec3b>(place(x, y)) != stored.at<cv::Vec3b>(y, x)) ++wrong;
        CHECK(wrong == 0);
    }
}

TEST_CASE("turning does not read beyond odd sizes") {
    for (const cv::Size size : {cv::Size(1, 1), cv::Size(1, 200), cv::Size(64, 64), cv::Size(65, 63),
                                cv::Size(128, 1), cv::Size(1, 257)})
        for (int orientation = 1; orientation <= 8; ++orientation) {
            const cv::Mat upright = turned(numbered(size.width, size.height), orientation);
            CHECK(upright.total() == static_cast<std::size_t>(size.area()));
        }
}
