// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "gauge/gauge.h"
#include "gauge/propagation.h"

namespace frayhold::gauge {

// Measures what a person drew: lengths along a line of points, areas inside a ring of points (shoelace
// formula). The points are taken to lie half-way up an item of that thickness, give or take the other half.
// Errors (Fault::usage): too few points for the measurand, or one that cannot be drawn.
[[nodiscard]] Result<Reading> measure_mark(const HandMark& mark, const ViewFit& fit,
                                           const Propagation& propagation, Level level,
                                           Millimetres item_thickness);

}  // namespace frayhold::gauge
