// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/monte_carlo.h"

// JCGM 100:2008, H.2: resistance, reactance and magnitude of an impedance from voltage, current and phase
// read together five times, so that their means are correlated. All in ohms.
namespace reference {

struct Impedance {
    frayhold::gauge::Spread resistance;
    frayhold::gauge::Spread reactance;
    frayhold::gauge::Spread magnitude;
    double r_resistance_reactance = 0.0;  // correlation coefficients
    double r_resistance_magnitude = 0.0;
    double r_reactance_magnitude = 0.0;
};

// Drawn as three correlated normal inputs. The example is first-order and takes the u of the means as known,
// so its degrees of freedom do not enter.
[[nodiscard]] Impedance impedance_drawn();

}  // namespace reference
