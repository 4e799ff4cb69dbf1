// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>

namespace frayhold::gauge {

// Linear light (0 to 1) of each 8-bit sRGB value (IEC 61966-2-1:1999, 5.2). A lens mixes light, not sRGB
// values, so half-way between dark and bright, and hence an edge, is where it should be only on this scale.
[[nodiscard]] const std::array<float, 256>& linear_of_srgb();

// Weights of linear blue, green and red that give luminance (Rec. 709).
inline const cv::Vec3d luminance_mix{0.0722, 0.7152, 0.2126};

// Linear light between pixel centres, bilinear, blue, green and red mixed by weight. bgr is CV_8UC3.
// Empty outside the picture.
[[nodiscard]] std::optional<double> light_at(const cv::Mat& bgr, cv::Point2d point_px,
                                             const cv::Vec3d& mix = luminance_mix);

}  // namespace frayhold::gauge
