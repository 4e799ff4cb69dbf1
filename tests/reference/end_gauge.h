// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/monte_carlo.h"
#include "gauge/reading.h"

// JCGM 100:2008, H.1: the length of a nominally 50 mm end gauge by comparison with a standard. All in
// nanometres.
namespace reference {

// The first-order budget as the example combines it.
[[nodiscard]] frayhold::gauge::Reading end_gauge_analytic();

// The deviation from 50 mm drawn from the full model with the distributions of JCGM 101:2008, table 10 (from
// memory), with a 99 % interval.
[[nodiscard]] frayhold::gauge::Spread end_gauge_drawn();

}  // namespace reference
