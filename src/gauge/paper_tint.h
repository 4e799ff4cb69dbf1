// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

#include "gauge/view_fitter.h"

namespace frayhold::gauge {

// The tint of the light as the card's paper shows it: what the camera's white balance left. Undyed core under
// a warm lamp has a colour; held against paper in the same light it has next to none.
struct PaperTint {
    // Linear light of blue, green and red times these is that under a light in which paper is neutral. None
    // is above 1, so that nothing clips.
    cv::Vec3d gains{1.0, 1.0, 1.0};

    // What luminance paper keeps.
    [[nodiscard]] double of_paper() const;
    // bgr: CV_8UC3, sRGB.
    [[nodiscard]] cv::Mat taken_from(const cv::Mat& bgr) const;
};

// Neutral where no printed card is in the picture, or too little of its bare paper is to be seen.
[[nodiscard]] PaperTint paper_tint(const cv::Mat& bgr, const ViewFit& fit);

}  // namespace frayhold::gauge
