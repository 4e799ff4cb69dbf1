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

// The upper of the two middle ones where their number is even; 0 where there is none.
[[nodiscard]] inline double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace frayhold::gauge
