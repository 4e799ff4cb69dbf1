// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace frayhold::gauge {

// The value below which that share of the values lies: 0.5 for the median. Reorders them; there must be one
// at least.
template <class Value>
Value quantile(std::vector<Value>& values, double share) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

}  // namespace frayhold::gauge
