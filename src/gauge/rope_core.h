// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "gauge/card_fit.h"
#include "gauge/gauge.h"
#include "gauge/propagation.h"
#include "gauge/rope_limbs.h"

namespace frayhold::gauge {

// What the sheath lets through, as readings (core_area, core_length) and what cannot be told, in words.
struct CoreFindings {
    std::vector<Reading> readings;
    std::vector<std::string> remarks;
};

// Looks for core all along the rope. Core shows on the rope's upper side: areas and lengths are taken on the
// plane that lies between half-way up and the top, give or take the rest. crowded: stations
// that are not looked at, since other lengths lie against the rope there. fluffed: loose fibres stand out
// somewhere along it.
[[nodiscard]] CoreFindings measure_core(const RopeLimbs& limbs, const std::vector<char>& crowded,
                                        const ViewFit& fit, const Propagation& propagation, Level level,
                                        double rope_width_mm, bool fluffed);

}  // namespace frayhold::gauge
