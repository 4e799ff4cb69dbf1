// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "gauge/fibre_cover.h"
#include "gauge/sound_edges.h"
#include "gauge/strip.h"
#include "gauge/strip_edges.h"

namespace frayhold::gauge {

// Loose fibres on either side of the item, station by station: millimetres across the strip on the bench
// plane, left negative. Where a side has no loose fibres its entry is the sound edge there.
struct Halo {
    std::vector<double> left;  // outermost fibre
    std::vector<double> right;
    std::vector<double> row_left;  // the same row by row of the strip
    std::vector<double> row_right;
    std::vector<double>
        strict_left;  // the same for more evidence, and for less: how well the end of a fibre is known
    std::vector<double> strict_right;
    std::vector<double> loose_left;
    std::vector<double> loose_right;
    std::vector<double> dense_left;  // to where fibres cover half the bench
    std::vector<double> dense_right;
    std::vector<double>
        dense_loose_left;  // the same to where they cover somewhat less, as the fibres' own light is
    std::vector<double> dense_loose_right;  // known to a quarter, and somewhat more
    std::vector<double> dense_strict_left;
    std::vector<double> dense_strict_right;
    double toll = 0.0;  // evidence asked for, in standard deviations of the bare bench
    // Thickness of the finest single fibre that could be followed on this bench, were it long: on the left
    // one that catches less light than most, as much, and more; then on the right. In the item's shadow dark
    // fibres hardly show, pale ones all the better.
    std::array<double, 6> finest_mm{};
    // Of each fibre that was followed: its evidence as a multiple of the least. Empty where others are likely
    // hidden that do not show at all.
    std::vector<double> plainness;
    // Of single fibres that reach so far: the share, by thickness and light, that cannot be followed on this
    // bench. A short one must show the plainer (FibreTracing::least_gain_mm).
    [[nodiscard]] double unseen_on_bench(double reach_mm) const;
    // The same as the fibres that were followed let tell, too: how plain they are spreads from nothing upward
    // without a step, so in the range below the least there are as many as in one as wide above it.
    [[nodiscard]] double unseen_share(double reach_mm) const;
    std::optional<FibreCover> cover;  // the share of bench hidden; empty where too little bench is seen
};

// Finds loose fibres.
//   1. The share of the bench that they hide, station by station (fibre_cover.h) or over a stretch
//      (changed_edge.h), tells cheaply where any are; the rest of the strip is not looked at again. A mass of
//      fibres is told by this share alone.
//   2. There, the three colours are weighed to part fibre from bench best in fine detail (Fisher 1936: the
//   inverse
//      covariance of the bare bench's fine detail times the step from bench to fibre).
//   3. Single fibres are followed outward from the item and from the mass (fibre_tracing.h). The evidence
//   asked for is
//      raised until the undamaged stretches of the same strip, on the same bench, show next to no fibres.
[[nodiscard]] Halo find_halo(const Strip& strip, const StationLight& light, const SoundEdges& sound,
                             double blur_mm);

}  // namespace frayhold::gauge
