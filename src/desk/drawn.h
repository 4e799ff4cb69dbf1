// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/types.hpp>
#include <optional>
#include <string>
#include <vector>

#include "gauge/gauge.h"

namespace frayhold::desk {

// Words pinned to a place in the picture: what is seen there.
struct PinnedWords {
    cv::Point2d at_px;
    std::string words;
};

// What a person drew on a photo. Points in pixels of the upright picture, origin at the centre of the top
// left pixel.
struct Drawn {
    std::optional<std::array<cv::Point2d, 4>> corners_px;  // the card's, where set by hand
    std::vector<gauge::HandMark> marks;
    std::vector<PinnedWords> pins;

    [[nodiscard]] bool empty() const { return !corners_px && marks.empty() && pins.empty(); }
};

}  // namespace frayhold::desk
