// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

namespace frayhold::gauge {

// The slopes of a picture by how seldom its bench has their like, and the edges among them.
//
// A bench varies much in lightness and hardly in hue, a board more across its grain than along: so a slope,
// in three channels and two directions, counts by its Mahalanobis distance under what most of the picture
// shows, and a card as light as the bench stands out by a trace of hue.
struct EvenedSlopes {
    cv::Mat dx, dy;      // CV_16S: along the steepest way, in an arbitrary unit
    cv::Mat edges;       // CV_8U: 255 on edges one pixel wide
    double clear = 0.0;  // what a clear edge has at least; 0 where the picture is too small to tell
};
constexpr double faint_share = 0.45;  // what a faint one has at least, of that

[[nodiscard]] EvenedSlopes evened_slopes(const cv::Mat& bgr);

}  // namespace frayhold::gauge
