// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstring>
#include <opencv2/core.hpp>

#include "photo/orientation.h"

namespace frayhold::photo {

// A picture of 3 bytes a pixel turned upright: its rows given as they are asked for.
inline cv::Mat turned(const cv::Mat& stored, int orientation) {
    UprightFrame frame(stored.rows, stored.cols, orientation);
    const auto* from = reinterpret_cast<const std::byte*>(stored.data);
    for (auto to = frame.next(); !to.empty(); to = frame.next()) {
        std::memcpy(to.data(), from, to.size());
        from += to.size();
    }
    return frame.take();
}

}  // namespace frayhold::photo
