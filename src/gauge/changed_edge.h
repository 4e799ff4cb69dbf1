// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "gauge/fibre_cover.h"
#include "gauge/sound_edges.h"
#include "gauge/strip.h"

namespace frayhold::gauge {

// A stretch of edge whose look is changed along all its length: stations [from, to).
struct ChangedEdge {
    std::size_t from = 0;
    std::size_t to = 0;
    double inside = 0.0;  // how far the item within stands above its flanks, in standard deviations
};

// Fibres too fine to be followed one by one: they veil both what lies beside the edge and the item within it,
// and do so along a stretch that begins and ends at once. Shadow, glare and the bench's grain reach farther
// out or across both edges; a stitch row changes only the webbing.
//
// The share of fibre (fibre_cover.h) is averaged over a band outside the edge and one inside it. For every
// stretch its mean less that of the stretches to both sides (a matched filter) is taken over the scatter of
// the same difference along the whole edge, by the median of its sizes. The plainest stretch counts if it is
// plain in the band outside and in both together.
//   side: -1 left, +1 right; station_mm: from one station to the next; left_out: stations known to be damaged
//   otherwise.
[[nodiscard]] std::optional<ChangedEdge> changed_edge(const Strip& strip, const FibreCover& cover,
                                                      const SoundEdges& sound, double side, double station_mm,
                                                      const std::vector<char>& left_out);

// How far the light just outside one edge stands above that of the flanks along the stations [from, to), in
// standard deviations of the same difference elsewhere along that edge. Empty where the strip is too short to
// tell.
[[nodiscard]] std::optional<double> change_outside(const Strip& strip, const FibreCover& cover,
                                                   const SoundEdges& sound, double side, double station_mm,
                                                   std::size_t from, std::size_t to);

}  // namespace frayhold::gauge
