// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <vector>

// Encoders for pictures the program makes. The same pixels give the same bytes; no metadata is written but
// the print size where asked for. They throw std::invalid_argument on an empty or wrongly typed picture.
namespace frayhold::photo {

// A baseline JPEG with full colour resolution, so that thin coloured lines stay crisp. `bgr` is CV_8UC3,
// quality 1 to 100.
[[nodiscard]] std::vector<std::byte> encode_jpeg(const cv::Mat& bgr, int quality);

// A PNG of CV_8UC1 (grey) or CV_8UC3 (BGR) pixels that prints at `dots_per_mm`.
[[nodiscard]] std::vector<std::byte> encode_png(const cv::Mat& pixels, double dots_per_mm);

}  // namespace frayhold::photo
