// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "gauge/card_fit.h"
#include "gauge/core_seen.h"
#include "gauge/gauge.h"
#include "gauge/paper_tint.h"
#include "gauge/propagation.h"
#include "gauge/rope_limbs.h"

namespace frayhold::gauge {

// What the sheath lets through, as readings (core_area, core_length) and what cannot be told, in words.
struct CoreFindings {
    std::vector<Reading> readings;
    std::vector<std::string> remarks;
};

// What a look at the rope shows of its core, before it is measured.
struct CoreSight {
    CoreSeen seen;
    double mm_per_px =
        0.0;               // of the strip that was looked at, on a plane between the rope's axis and its top
    int first_column = 0;  // of that strip in the wide one
};

// Looks for core all along the rope, which is `rope_width_mm` wide or nearly so. crowded: stations that are
// not looked at, since other lengths lie against the rope there. Takes long, and may run beside other work.
[[nodiscard]] CoreSight look_for_core(const RopeLimbs& limbs, const std::vector<char>& crowded,
                                      const ViewFit& fit, const PaperTint& tint, Level level,
                                      double rope_width_mm);

// Core shows on the rope's upper side: areas and lengths are taken on the plane that lies between half-way up
// and the top, give or take the rest. rope_width_u_mm: the width's standard uncertainty. fluffed: loose
// fibres stand out somewhere along it.
[[nodiscard]] CoreFindings measure_core(const CoreSight& sight, const RopeLimbs& limbs, const ViewFit& fit,
                                        const Propagation& propagation, Level level, double rope_width_mm,
                                        double rope_width_u_mm, bool fluffed);

}  // namespace frayhold::gauge
