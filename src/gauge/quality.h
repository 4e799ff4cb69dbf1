// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/card_fit.h"
#include "gauge/card_search.h"
#include "gauge/gauge.h"

namespace frayhold::gauge {

// 10-90 % width, in px, of the crispest edges of the picture: the median over up to 200 steepest places.
// The edges of a blurred picture are wide wherever they lie. 0 where the picture has no edges.
[[nodiscard]] double edge_width_px(const cv::Mat& bgr, const ReducedPicture& reduced);

// Share of places on the card that are clipped to white (all channels at 254 or more).
[[nodiscard]] double clipped_share_of_card(const cv::Mat& bgr, const View& view);

// Whether the photo can be measured, and if not why and what to do.
// width_px: of its edges (edge_width_px). fit: the card as fitted; none where no card was found. by_rule: the
// scale is a rule's, and no card is looked at.
[[nodiscard]] Quality judge(const cv::Mat& bgr, double width_px, const ViewFit* fit, bool by_rule = false);

}  // namespace frayhold::gauge
