// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

namespace frayhold::gauge {

// One fiducial of the printed card as first seen: good to a few pixels, enough to start the fit.
struct MarkerSighting {
    int id = 0;
    std::array<cv::Point2d, 4> corners_px;  // from the marker's own top left, clockwise; upright picture
};

// Looks for the card's four fiducials on a reduced picture (a full-size search costs nine times a decode and finds
// no more), then once more at twice the size where fewer than two are seen. At most one sighting an id: the largest.
[[nodiscard]] std::vector<MarkerSighting> find_markers(const cv::Mat& bgr);

}  // namespace frayhold::gauge
