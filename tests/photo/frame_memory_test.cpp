// SPDX-License-Identifier: Apache-2.0
#include "photo/frame_memory.h"

#include <catch2/catch.hpp>
#include <opencv2/core.hpp>

using frayhold::photo::frame_memory;
using frayhold::photo::new_frame;

TEST_CASE("frames small and large hold what is written, as copies, parts and after their origin is gone") {
    for (const cv::Size size :
         {cv::Size(3, 2), cv::Size(700, 500), cv::Size(1024, 1024), cv::Size(3001, 2003)}) {
        cv::Mat part;
        cv::Mat copy;
        {
            cv::Mat frame = new_frame(size.height, size.width, CV_8UC3);
            REQUIRE(frame.size() == size);
            REQUIRE(frame.isContinuous());
            frame = cv::Scalar(1, 2, 3);
            frame.at<cv::Vec3b>(size.height - 1, size.width - 1) = cv::Vec3b(7, 8, 9);
            copy = frame.clone();
            part = frame(cv::Rect(size.width - 2, size.height - 2, 2, 2));
        }
        CHECK(part.at<cv::Vec3b>(1, 1) == cv::Vec3b(7, 8, 9));
        CHECK(part.at<cv::Vec3b>(0, 0) == cv::Vec3b(1, 2, 3));
        CHECK(cv::sum(copy) ==
              cv::Scalar(double(size.area()) + 6, 2.0 * size.area() + 6, 3.0 * size.area() + 6));
    }
}

TEST_CASE("frame memory can be OpenCV's default") {
    cv::Mat::setDefaultAllocator(&frame_memory());
    cv::Mat large(3000, 2000, CV_32FC1, cv::Scalar(0.5));
    cv::Mat sum = large + large;
    CHECK(cv::mean(sum)[0] == 1.0);
    std::vector<float> own(1 << 20, 2.0F);
    const cv::Mat lent(1024, 1024, CV_32FC1, own.data());
    CHECK(cv::mean(lent.clone())[0] == 2.0);
    cv::Mat::setDefaultAllocator(nullptr);
}
