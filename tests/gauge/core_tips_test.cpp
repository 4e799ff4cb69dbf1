// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_tips.h"

#include <catch2/catch.hpp>
#include <opencv2/imgproc.hpp>
#include <vector>

namespace frayhold::gauge {
namespace {

// A region of 20 columns over rows 40 to 60, on a picture of 100 rows.
cv::Mat region() {
    cv::Mat mask = cv::Mat::zeros(100, 60, CV_8U);
    mask(cv::Rect(20, 40, 20, 20)) = 255;
    return mask;
}

// The region, and a tip that leans and narrows from 8 columns at its end to one in row 20.
cv::Mat with_tip() {
    cv::Mat core = region();
    const std::vector<cv::Point> tip{{24, 40}, {32, 40}, {36, 20}};
    cv::fillConvexPoly(core, tip, 255);
    return core;
}

int first_row(const cv::Mat& mask) {
    for (int row = 0; row < mask.rows; ++row)
        if (cv::countNonZero(mask.row(row)) != 0) return row;
    return mask.rows;
}

constexpr TipRule rule{Tips::to_neck, 40, 3};

TEST_CASE("A tip is followed to its end, and no farther than it may") {
    CHECK(first_row(with_tips(region(), with_tip(), rule)) == 20);
    CHECK(first_row(with_tips(region(), with_tip(), {Tips::to_neck, 12, 3})) == 28);
    CHECK(first_row(with_tips(region(), with_tip(), {Tips::none, 40, 3})) == 40);
}

TEST_CASE("Tips are followed both ways") {
    cv::Mat upside_down;
    cv::flip(with_tip(), upside_down, 0);
    cv::Mat flipped;
    cv::flip(region(), flipped, 0);
    const cv::Mat tips = with_tips(flipped, upside_down, rule);
    CHECK(cv::countNonZero(tips.row(79)) > 0);
    CHECK(first_row(tips) == 40);
}

TEST_CASE("What leaves the region sideways is no tip") {
    cv::Mat core = region();
    core(cv::Rect(40, 50, 15, 2)) = 255;
    const cv::Mat tips = with_tips(region(), core, rule);
    CHECK(cv::countNonZero(tips.col(45)) == 0);
}

TEST_CASE("A yarn wider than the tip ends it, or is gone through no wider than the tip") {
    cv::Mat core = region();
    core(cv::Rect(28, 30, 4, 10)) = 255;
    core(cv::Rect(20, 20, 20, 10)) = 255;
    CHECK(first_row(with_tips(region(), core, rule)) == 30);
    const cv::Mat through = with_tips(region(), core, {Tips::through, 40, 3});
    CHECK(first_row(through) == 20);
    CHECK(cv::countNonZero(through.row(22)) == 4);
}

TEST_CASE("A region at the picture's edge is followed no farther than that") {
    cv::Mat mask = cv::Mat::zeros(20, 20, CV_8U), core(20, 20, CV_8U, cv::Scalar(255));
    mask.row(0) = 255;
    mask.row(19) = 255;
    CHECK(with_tips(mask, core, {Tips::through, 40, 3}).size() == mask.size());
}

}  // namespace
}  // namespace frayhold::gauge
