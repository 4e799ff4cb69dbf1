// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <opencv2/core/mat.hpp>

#include "render/scene.h"

namespace frayhold::render {

// Lens blur, smear, shot and read noise, clipping and the sRGB curve: linear CV_32FC3 (red green blue) to
// CV_8UC3 (blue green red).
[[nodiscard]] cv::Mat develop(const cv::Mat& linear, const Sensor& sensor, std::uint64_t seed);

}  // namespace frayhold::render
