// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"
#include "gauge/flatten.h"
#include "gauge/nearest_edge.h"

// What helps a person look and pick; no reading comes from it.
using namespace frayhold;
using namespace frayhold::gauge;

TEST_CASE("Laid flat, the card is a rectangle of its own shape at the scale that is told") {
    const cv::Mat picture(600, 800, CV_8UC3, cv::Scalar(120, 130, 140));
    const std::array<cv::Point2d, 4> corners{{{300, 200}, {520, 230}, {500, 390}, {280, 350}}};
    const FlatPicture flat = value_or_throw(flattened(picture, corners, 1000));
    CHECK(std::max(flat.bgr.cols, flat.bgr.rows) == 1000);
    const cv::Matx33d flat_from_picture = flat.picture_from_flat.inv();
    std::array<cv::Point2d, 4> laid;
    for (std::size_t i = 0; i < 4; ++i) {
        const cv::Vec3d p = flat_from_picture * cv::Vec3d(corners[i].x, corners[i].y, 1);
        laid[i] = {p[0] / p[2], p[1] / p[2]};
    }
    for (std::size_t i = 0; i < 4; ++i) {
        const double side = i % 2 == 0 ? id1_width_mm : id1_height_mm;
        CHECK(cv::norm(laid[(i + 1) % 4] - laid[i]) * flat.mm_per_px == Approx(side).epsilon(1e-4));
    }
    CHECK(std::abs(laid[1].y - laid[0].y) < 0.01);
    CHECK(std::abs(laid[3].x - laid[0].x) < 0.01);
}

TEST_CASE("Four points that do not go round a card are not laid flat") {
    const cv::Mat picture(600, 800, CV_8UC3, cv::Scalar(120, 130, 140));
    CHECK_FALSE(flattened(picture, {{{300, 200}, {280, 350}, {500, 390}, {520, 230}}}, 1000));
    CHECK_FALSE(flattened(picture, {{{300, 200}, {300, 200}, {300, 200}, {300, 200}}}, 1000));
    CHECK_FALSE(flattened(picture, {{{300, 200}, {500, 390}, {520, 230}, {280, 350}}}, 1000));
}

TEST_CASE("A view along the bench is cut off before the horizon") {
    const cv::Mat picture(600, 800, CV_8UC3, cv::Scalar(120, 130, 140));
    const FlatPicture flat =
        value_or_throw(flattened(picture, {{{350, 300}, {450, 300}, {600, 500}, {200, 500}}}, 1000, 400.0));
    CHECK(flat.mm_per_px * 1000 <= id1_width_mm + 800.1);
}

TEST_CASE("A pick catches the edge beside it to a fraction of a pixel") {
    // A slanted step with its edge on x = 40.3 + 0.2 (y - 30), drawn at eight times the size.
    constexpr int finer = 8;
    cv::Mat fine(60 * finer, 80 * finer, CV_8UC3), picture;
    for (int r = 0; r < fine.rows; ++r)
        for (int c = 0; c < fine.cols; ++c) {
            const double x = (c + 0.5) / finer - 0.5, y = (r + 0.5) / finer - 0.5;
            fine.at<cv::Vec3b>(r, c) =
                x < 40.3 + 0.2 * (y - 30) ? cv::Vec3b(60, 60, 60) : cv::Vec3b(180, 180, 180);
        }
    cv::resize(fine, picture, {80, 60}, 0, 0, cv::INTER_AREA);
    for (const cv::Point2d picked : {cv::Point2d(36, 30), cv::Point2d(45, 28), cv::Point2d(41, 33)}) {
        const auto edge = nearest_edge(picture, picked, 8);
        REQUIRE(edge);
        CHECK(std::abs(edge->x - 40.3 - 0.2 * (edge->y - 30)) < 0.2);
    }
    CHECK_FALSE(nearest_edge(picture, {10, 30}, 8));
    CHECK_FALSE(nearest_edge(picture, {-500, 30}, 8));
    CHECK_FALSE(nearest_edge(picture, {1e6, 1e6}, 8));
}
