// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/rope_limbs.h"
#include "gauge/view.h"

namespace frayhold::gauge {

// Whether, at each station, another length of rope, or anything of the sheath's own look, lies against the
// rope that was followed, on either side; or whether what was followed is itself more than one length.
//
// There the limb model, which looks for a bench, misplaces the edge; the bench that shows between two lengths
// looks like core, and the neighbour like a mass of fibres.
//
// What lies beyond the limb, as far out as half the rope is broad, is held against the rope's own middle and
// against the bench round the card, by hue, lightness and roughness of areas of one size. Fibres thin out
// over that distance and a shadow keeps the bench's hue; a neighbour does neither. Nothing is told where
// sheath and bench look too much alike, or where no bench is seen round the card. Two lengths taken for one
// show a groove along them, or the bench in it, for longer than any damage is: then every station counts.
[[nodiscard]] std::vector<char> beside_others(const RopeLimbs& limbs, const cv::Mat& bgr, const View& view);

}  // namespace frayhold::gauge
