// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "gauge/halo.h"
#include "gauge/item_search.h"
#include "gauge/strip.h"
#include "gauge/strip_edges.h"
#include "gauge/view.h"

namespace frayhold::gauge {

// Both limbs of the rope at one station, as placed by the limb model over the neighbouring stations.
struct LimbPair {
    std::size_t station = 0;
    double left_mm = 0.0;  // across the strip, on the bench plane
    double right_mm = 0.0;
    double plainness = 0.0;  // of the less plain of the two (LimbFit::Edge)
};

// The rope unrolled from the full picture, with its edges.
struct RopeLimbs {
    Strip strip;
    StationLight light;
    std::vector<LimbPair> pairs;  // every third station where both limbs are plain; outliers taken out
    SoundEdges sound;             // every station: limbs where plain, else carried over from the neighbours
    double blur_mm = 0.0;         // of the lens, at the rope
    // How far within its limbs, both together, the rope may end rather than at them (bench_within.h), where a
    // shadow at its foot was taken for rope; negative where it may end outside.
    double ends_within_mm = 0.0;
};

// Follows the track's edges in the reduced picture to straighten the centre line, unrolls the full picture
// along it and places the limbs. Empty where too little of the rope shows plain limbs to speak of a width.
//   edge_width_px   10-90 % width of the card's edges: the blur that the rope shares
[[nodiscard]] std::optional<RopeLimbs> find_limbs(const cv::Mat& bgr, const ReducedPicture& reduced,
                                                  const View& view, const Track& track, double edge_width_px);

}  // namespace frayhold::gauge
