// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <limits>

namespace frayhold {

// A measured value with its standard uncertainty (JCGM 100:2008, 2.3.1): u is one standard deviation,
// in the unit of value, and is never negative. dof is the effective degrees of freedom (JCGM 100, G.4);
// infinity where u is taken as known exactly.
template <class T>
struct Uncertain {
    T value{};
    T u{};
    double dof = std::numeric_limits<double>::infinity();
};

}  // namespace frayhold
