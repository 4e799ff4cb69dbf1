// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "gauge/rope_limbs.h"

namespace frayhold::gauge {

// How far each edge of a stretch stands outward of where the sound rope to both sides of it leads one to
// expect it, on the mean, in millimetres.
//
// A flattened or swollen rope moves both its edges. Where one moves and the other stays, that edge was
// misplaced, as beside a hole in the sheath, or something stands out or is missing on that side.
struct EdgesMoved {
    double left_mm = 0.0;
    double right_mm = 0.0;
};

// A run of stations [from, to).
struct Run {
    std::size_t from = 0;
    std::size_t to = 0;
};

// Over the stations `over`, which lie in the stretch. Each edge is expected on the parabola, the cubic and
// the quartic through that edge beside the stretch, over as much rope again on either side: one entry for
// each. Empty where the picture shows too little rope on one side.
[[nodiscard]] std::vector<EdgesMoved> edges_moved(const RopeLimbs& limbs, Run stretch, Run over);

// Whether one edge moved and the other hardly did. Where the three do not agree on it, or the edges do not
// amount to the change of width, the rope bends too much to tell.
//   change_mm   by how much the stretch is wider than the sound rope, on the mean
[[nodiscard]] bool one_sided(const std::vector<EdgesMoved>& moved, double change_mm);

// By how much the two edges moved unequally, by the one of the three that tells the least.
[[nodiscard]] double unequal_mm(const std::vector<EdgesMoved>& moved);

}  // namespace frayhold::gauge
