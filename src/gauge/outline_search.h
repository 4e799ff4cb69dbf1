// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/types.hpp>
#include <vector>

#include "gauge/card_search.h"

namespace frayhold::gauge {

// Four straight sides that close: clockwise as seen in the picture, corners by intersection, good to a few
// pixels.
struct Outline {
    std::array<cv::Point2d, 4> corners_px;  // of the full picture
    double support = 0.0;                   // share of its length where an edge was seen, 0 to 1
};

// Looks for anything with four straight sides on the reduced picture, whatever its colour or print: edges in
// the channel where each is strongest, straight runs of them, and closed rounds of four runs. Runs need not
// reach the corners, which may be round, and may be broken. Best supported first; near doubles left out.
[[nodiscard]] std::vector<Outline> find_outlines(const ReducedPicture& reduced);

}  // namespace frayhold::gauge
