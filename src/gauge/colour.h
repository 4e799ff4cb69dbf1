// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/matx.hpp>

// From the camera's sRGB values to colours as an eye tells them apart. Pictures are taken to be sRGB under
// D65: a photo says nothing certain of the light it was taken in, so colours are compared only within one
// photo.
namespace frayhold::gauge {

// CIE 1976 L*a*b* (CIE 15:2004, 8.2.1), white: D65 as of IEC 61966-2-1.
struct Lab {
    double L = 0.0;  // 0 black to 100 white
    double a = 0.0;  // green to red
    double b = 0.0;  // blue to yellow

    [[nodiscard]] double chroma() const;  // C*ab
};

// sRGB value 0 to 1 to linear light 0 to 1 (IEC 61966-2-1:1999, 5.2).
[[nodiscard]] double linear_of_srgb(double value);
// Back again; light beyond 0 or 1 is taken for that.
[[nodiscard]] double srgb_of_linear(double light);

// Exact, of one pixel in OpenCV's order blue, green, red.
[[nodiscard]] Lab lab_of(const cv::Vec3b& bgr);

// The whole picture (CV_8UC3) as CV_32FC3 of L, a, b. By tables: each of L, a and b is within lab_image_bound
// of lab_of, swept over a grid of all colours in the tests.
[[nodiscard]] cv::Mat lab_image(const cv::Mat& bgr);
inline constexpr double lab_image_bound = 0.01;

// The colour difference CIEDE2000 with kC = kH = 1 (CIE 142-2001; ISO/CIE 11664-6), written after Sharma, Wu
// and Dalal, "The CIEDE2000 color-difference formula: implementation notes", Color Res. Appl. 30 (2005)
// 21-30, equations 2 to 22. About 1 is just noticed side by side. Made for differences up to about 5; larger
// ones keep their order, not their size. kL = 2 is usual for textiles, whose relief changes lightness more
// than hue.
[[nodiscard]] double ciede2000(const Lab& first, const Lab& second, double kL = 1.0);

}  // namespace frayhold::gauge
