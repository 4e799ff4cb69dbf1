// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <vector>

namespace frayhold::gauge {

// One fiducial of the printed card as first seen: good to a few pixels, enough to start the fit.
struct MarkerSighting {
    int id = 0;
    std::array<cv::Point2d, 4> corners_px;  // from the marker's own top left, clockwise; upright picture
};

// A picture averaged over factor x factor pixels, so that its longer side is about 1400 pixels: for searching
// only.
struct ReducedPicture {
    cv::Mat bgr;
    int factor = 1;
    // From its pixels to those of the full picture: a pixel is centred on the middle of those it averages.
    [[nodiscard]] cv::Point2d full_px(cv::Point2d reduced_px) const {
        return (reduced_px + cv::Point2d(0.5, 0.5)) * factor - cv::Point2d(0.5, 0.5);
    }
};
[[nodiscard]] ReducedPicture reduced_picture(const cv::Mat& bgr);

// Looks for the card's four fiducials at half the size of the reduced picture; where not all are seen, on the
// reduced picture (a full-size search costs nine times a decode and finds no more), then once more at twice
// the size where fewer than two are seen. At most one sighting an id: the largest.
[[nodiscard]] std::vector<MarkerSighting> find_markers(const cv::Mat& bgr, const ReducedPicture& reduced);

}  // namespace frayhold::gauge
