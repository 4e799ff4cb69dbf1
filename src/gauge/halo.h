// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "gauge/strip.h"
#include "gauge/strip_edges.h"

namespace frayhold::gauge {

// Loose fibres on either side of the item, station by station: millimetres across the strip on the bench plane,
// left negative. Where a side has no loose fibres its entry is the sound edge there.
struct Halo {
    std::vector<double> left;         // outermost fibre
    std::vector<double> right;
    std::vector<double> strict_left;  // the same at half as much again of evidence: how well the end of a fibre is known
    std::vector<double> strict_right;
    std::vector<double> dense_left;   // to where fibres cover half the bench
    std::vector<double> dense_right;
    double threshold = 0.0;           // evidence asked for, in standard deviations of the bare bench
};

// The sound edges, one entry a station, without gaps.
struct SoundEdges {
    std::vector<double> left;
    std::vector<double> right;
};

// Finds fibres as thin lines of the item's colour against what lies around them.
//   1. What is left after the local median (about 3 mm) holds only fine detail.
//   2. Its three colours are weighed to part fibre from bench best (Fisher 1936: the inverse covariance of the bench's
//      own fine detail times the step from bench to fibre), for fibres of the sheath's colour and for paler ones.
//   3. Sums along short lines of eight directions, each over its own scatter on the bare bench and in its own column
//      along the item, so that the grain of wood counts for little along the grain; the best direction is kept.
//   4. A mass of fibres has no fine detail: it is judged by its colour against what its column shows elsewhere.
//   5. A place counts where the evidence passes the threshold (for a line also half of the strongest nearby, which puts
//      a fibre's end at its end, not where its blur ends), and where a chain of such places leads back to the item.
[[nodiscard]] Halo find_halo(const Strip& strip, const StationLight& light, const SoundEdges& sound);

}  // namespace frayhold::gauge
