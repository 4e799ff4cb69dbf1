// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>

#include "units/error.h"

namespace frayhold::gauge {

// The bench as seen from straight above, for looking at: no reading is taken from it.
struct FlatPicture {
    cv::Mat bgr;
    cv::Matx33d picture_from_flat;  // homogeneous: pixels of the flat picture to pixels of the upright photo
    double mm_per_px = 0.0;         // everywhere on the card's plane
};

// Lays the picture flat by the homography of the card's four corners (from its own top left, clockwise; lens
// distortion is left as it is). What is shown is the part of the bench that the photo sees within reach_mm of
// the card; the longer side is at most longest_side_px.
// Errors (Fault::input): the four points are not a card seen from above, in order.
[[nodiscard]] Result<FlatPicture> flattened(const cv::Mat& bgr, const std::array<cv::Point2d, 4>& corners_px,
                                            int longest_side_px, double reach_mm = 400.0);

}  // namespace frayhold::gauge
