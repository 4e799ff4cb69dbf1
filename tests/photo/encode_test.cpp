// SPDX-License-Identifier: Apache-2.0
#include "photo/encode.h"

#include <catch2/catch.hpp>
#include <opencv2/core.hpp>
#include <stdexcept>

#include "photo/photo.h"
#include "samples.h"

using frayhold::photo::encode_jpeg;
using frayhold::photo::encode_png;

TEST_CASE("the same pixels give the same bytes") {
    const cv::Mat bgr = samples::picture(200, 150);
    CHECK(encode_jpeg(bgr, 88) == encode_jpeg(bgr.clone(), 88));
    CHECK(encode_png(bgr, 20.0) == encode_png(bgr.clone(), 20.0));
    CHECK(encode_jpeg(bgr, 60).size() < encode_jpeg(bgr, 95).size());
}

TEST_CASE("a part of a larger picture is encoded as that part") {
    const cv::Mat part = samples::picture(300, 200)(cv::Rect(40, 30, 128, 96));
    const auto back = frayhold::photo::decode(encode_png(part, 20.0), "part.png");
    REQUIRE(back);
    CHECK(samples::same_pixels(back->bgr, part.clone()));
    CHECK(encode_jpeg(part, 90) == encode_jpeg(part.clone(), 90));
}

TEST_CASE("a grey PNG comes back with its three channels alike") {
    cv::Mat grey;
    cv::extractChannel(samples::picture(100, 80), grey, 1);
    const auto back = frayhold::photo::decode(encode_png(grey, 50.0), "grey.png");
    REQUIRE(back);
    for (int channel = 0; channel < 3; ++channel) {
        cv::Mat one;
        cv::extractChannel(back->bgr, one, channel);
        CHECK(cv::norm(one, grey, cv::NORM_INF) == 0.0);
    }
}

TEST_CASE("an empty or wrongly typed picture cannot be encoded") {
    CHECK_THROWS_AS(encode_jpeg(cv::Mat(), 90), std::invalid_argument);
    CHECK_THROWS_AS(encode_jpeg(cv::Mat(80, 80, CV_8UC1), 90), std::invalid_argument);
    CHECK_THROWS_AS(encode_png(cv::Mat(80, 80, CV_32FC1), 10.0), std::invalid_argument);
}
