// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>

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

// Stations [from, to). Each edge is expected on the cubic through that edge beside the stretch, over as much
// rope again on either side. Empty where the picture shows too little rope on one side.
[[nodiscard]] std::optional<EdgesMoved> edges_moved(const RopeLimbs& limbs, std::size_t from, std::size_t to);

// Whether one edge moved and the other hardly did.
//   change_mm   by how much the stretch is wider than the sound rope, on the mean: where the edges do not
//               amount to it, the rope bends too much for the cubic to tell
[[nodiscard]] bool one_sided(const EdgesMoved& moved, double change_mm);

}  // namespace frayhold::gauge
