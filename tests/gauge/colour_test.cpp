// SPDX-License-Identifier: Apache-2.0
#include "gauge/colour.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <random>

namespace {

using frayhold::gauge::ciede2000;
using frayhold::gauge::Lab;
using frayhold::gauge::lab_image;
using frayhold::gauge::lab_image_bound;
using frayhold::gauge::lab_of;

struct Pair {
    Lab first;
    Lab second;
    double difference;
};

// Sharma, Wu and Dalal 2005, table 1, as Debian's python3-skimage carries it in
// skimage/color/tests/ciede2000_test_data.txt.
constexpr Pair published[] = {
    {{50.0000, 2.6772, -79.7751}, {50.0000, 0.0000, -82.7485}, 2.0425},
    {{50.0000, 3.1571, -77.2803}, {50.0000, 0.0000, -82.7485}, 2.8615},
    {{50.0000, 2.8361, -74.0200}, {50.0000, 0.0000, -82.7485}, 3.4412},
    {{50.0000, -1.3802, -84.2814}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -1.1848, -84.8006}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -0.9009, -85.5211}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, 0.0000, 0.0000}, {50.0000, -1.0000, 2.0000}, 2.3669},
    {{50.0000, -1.0000, 2.0000}, {50.0000, 0.0000, 0.0000}, 2.3669},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0009}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0010}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0011}, 7.2195},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0012}, 7.2195},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0009, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0010, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0011, -2.4900}, 4.7461},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 0.0000, -2.5000}, 4.3065},
    {{50.0000, 2.5000, 0.0000}, {73.0000, 25.0000, -18.0000}, 27.1492},
    {{50.0000, 2.5000, 0.0000}, {61.0000, -5.0000, 29.0000}, 22.8977},
    {{50.0000, 2.5000, 0.0000}, {56.0000, -27.0000, -3.0000}, 31.9030},
    {{50.0000, 2.5000, 0.0000}, {58.0000, 24.0000, 15.0000}, 19.4535},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.1736, 0.5854}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2972, 0.0000}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 1.8634, 0.5757}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2592, 0.3350}, 1.0000},
    {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
    {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
    {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
    {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
    {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
    {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
    {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
    {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
    {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
    {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
};

TEST_CASE("CIEDE2000 gives the 34 published differences to their last digit") {
    REQUIRE(std::size(published) == 34);
    for (const Pair& pair : published) {
        CAPTURE(pair.first.a, pair.first.b, pair.second.a, pair.second.b);
        CHECK(ciede2000(pair.first, pair.second) == Approx(pair.difference).epsilon(0).margin(0.00005001));
        CHECK(ciede2000(pair.second, pair.first) == Approx(pair.difference).epsilon(0).margin(0.00005001));
    }
}

TEST_CASE("A colour does not differ from itself") {
    CHECK(ciede2000({0, 0, 0}, {0, 0, 0}) == 0.0);
    CHECK(ciede2000({50, 20, -30}, {50, 20, -30}) == 0.0);
}

TEST_CASE("With kL = 2 a difference in lightness alone counts half") {
    CHECK(ciede2000({40, 10, 10}, {60, 10, 10}, 2.0) == Approx(ciede2000({40, 10, 10}, {60, 10, 10}) / 2));
    CHECK(ciede2000({50, 10, 10}, {50, 20, 10}, 2.0) == Approx(ciede2000({50, 10, 10}, {50, 20, 10})));
}

TEST_CASE("The linear light of sRGB has its two branches and its ends") {
    CHECK(frayhold::gauge::linear_of_srgb(0.0) == 0.0);
    CHECK(frayhold::gauge::linear_of_srgb(1.0) == Approx(1.0).epsilon(1e-12));
    CHECK(frayhold::gauge::linear_of_srgb(0.04045) == Approx(0.0031308).margin(1e-7));  // IEC 61966-2-1, 5.2
    CHECK(frayhold::gauge::linear_of_srgb(0.5) == Approx(0.2140411).margin(1e-7));
}

TEST_CASE("The primaries lie where the standard puts them, and greys are neutral") {
    struct Primary {
        cv::Vec3b bgr;
        Lab lab;
    };
    // sRGB red, green and blue in CIELAB under D65; widely printed to two digits, from memory. The last digit
    // hangs on how far the standard's matrix was rounded. tests/reference asks scikit-image.
    const Primary primaries[] = {{{0, 0, 255}, {53.24, 80.09, 67.20}},
                                 {{0, 255, 0}, {87.73, -86.18, 83.18}},
                                 {{255, 0, 0}, {32.30, 79.19, -107.86}}};
    for (const Primary& primary : primaries) {
        const Lab lab = lab_of(primary.bgr);
        CHECK(lab.L == Approx(primary.lab.L).margin(0.03));
        CHECK(lab.a == Approx(primary.lab.a).margin(0.03));
        CHECK(lab.b == Approx(primary.lab.b).margin(0.03));
    }
    for (int grey = 0; grey < 256; ++grey) {
        const auto value = static_cast<unsigned char>(grey);
        CHECK(lab_of({value, value, value}).chroma() < 1e-9);
    }
    CHECK(lab_of({0, 0, 0}).L == Approx(0.0).margin(1e-9));
    CHECK(lab_of({255, 255, 255}).L == Approx(100.0).epsilon(1e-12));
    CHECK(lab_of({119, 119, 119}).L == Approx(50.03).margin(0.01));
}

TEST_CASE("The tables for whole pictures stay within their bound of the exact colour") {
    // Every fifth value of each channel, with both ends, and a seeded draw of all others.
    cv::Mat grid(52 * 52, 52, CV_8UC3);
    for (int b = 0; b < 52; ++b)
        for (int g = 0; g < 52; ++g)
            for (int r = 0; r < 52; ++r)
                grid.at<cv::Vec3b>(b * 52 + g, r) =
                    cv::Vec3b(static_cast<unsigned char>(5 * b), static_cast<unsigned char>(5 * g),
                              static_cast<unsigned char>(5 * r));
    cv::Mat drawn(500, 400, CV_8UC3);
    std::mt19937 random(11664);
    std::uniform_int_distribution<int> value(0, 255);
    for (auto& pixel : cv::Mat_<cv::Vec3b>(drawn))
        pixel =
            cv::Vec3b(static_cast<unsigned char>(value(random)), static_cast<unsigned char>(value(random)),
                      static_cast<unsigned char>(value(random)));
    double worst = 0.0;
    for (const cv::Mat& picture : {grid, drawn}) {
        const cv::Mat lab = lab_image(picture);
        REQUIRE(lab.type() == CV_32FC3);
        for (int row = 0; row < picture.rows; ++row)
            for (int column = 0; column < picture.cols; ++column) {
                const Lab exact = lab_of(picture.at<cv::Vec3b>(row, column));
                const auto& quick = lab.at<cv::Vec3f>(row, column);
                worst = std::max({worst, std::abs(quick[0] - exact.L), std::abs(quick[1] - exact.a),
                                  std::abs(quick[2] - exact.b)});
            }
    }
    std::cout << "largest error of lab_image: " << worst << " (bound " << lab_image_bound << ")\n";
    CHECK(worst <= lab_image_bound);
    CHECK(worst > 0.0);
}

TEST_CASE("An empty picture and a picture of another type") {
    CHECK(lab_image(cv::Mat(0, 0, CV_8UC3)).empty());
    CHECK_THROWS(lab_image(cv::Mat(2, 2, CV_8UC1)));
}

}  // namespace
