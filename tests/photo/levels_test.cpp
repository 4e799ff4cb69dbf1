// SPDX-License-Identifier: Apache-2.0
#include "photo/levels.h"

#include <catch2/catch.hpp>
#include <opencv2/core.hpp>

#include "photo/photo.h"

using namespace frayhold;
using photo::Levels;

TEST_CASE("A picture comes apart into tiles that make it whole again") {
    cv::Mat picture(700, 1101, CV_8UC3);
    for (int r = 0; r < picture.rows; ++r)
        for (int c = 0; c < picture.cols; ++c)
            picture.at<cv::Vec3b>(r, c) = cv::Vec3b(uchar(r * 255 / 700), uchar(c * 255 / 1101), 90);
    const Levels levels(picture);
    REQUIRE(levels.count() == 3);
    CHECK(levels.size(0) == cv::Size(1101, 700));
    CHECK(levels.size(1) == cv::Size(551, 350));
    CHECK(levels.size(2) == cv::Size(276, 175));
    int pixels = 0;
    double worst = 0.0;
    for (int row = 0; row < 2; ++row)
        for (int column = 0; column < 3; ++column) {
            const auto tile = value_or_throw(photo::decode(levels.tile(0, column, row), "tile"));
            const cv::Rect place(column * 512, row * 512, tile.bgr.cols, tile.bgr.rows);
            worst = std::max(worst, cv::norm(tile.bgr, picture(place), cv::NORM_INF));
            pixels += place.area();
        }
    CHECK(pixels == picture.rows * picture.cols);
    CHECK(worst <= 8.0);  // what JPEG rounds off
}

TEST_CASE("There is no tile beyond the picture") {
    const Levels levels(cv::Mat(512, 1024, CV_8UC3, cv::Scalar(9, 9, 9)));
    CHECK_FALSE(levels.tile(0, 1, 0).empty());
    CHECK(levels.tile(0, 2, 0).empty());
    CHECK(levels.tile(0, 0, 1).empty());
    CHECK(levels.tile(-1, 0, 0).empty());
    CHECK(levels.tile(2, 0, 0).empty());
    CHECK(levels.tile(0, -1, 0).empty());
    CHECK(levels.tile(0, 2'000'000'000, 2'000'000'000).empty());
}
