// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

namespace frayhold::gauge {

// Whether a region of core runs on along the rope into the tips in which it ends: not at all; up to where a
// tip grows wider again, as it does where it meets a pale tracer yarn; or through that, as wide as it was.
enum class Tips { none, to_neck, through };

// Lengths in pixels.
struct TipRule {
    Tips tips = Tips::to_neck;
    int reach = 0;  // how far beyond the region at the most
    int neck = 0;   // by how much what it meets must be wider
};

// The region with its tips. Bundles of core run along the rope, and where the tear in the sheath ends they
// end in tips: from row to row these move aside by a pixel at the most and grow no wider.
//
// region, core: CV_8U, rows along the rope; core: 255 where the light is more of core than of the sheath.
[[nodiscard]] cv::Mat with_tips(const cv::Mat& region, const cv::Mat& core, const TipRule& rule);

}  // namespace frayhold::gauge
