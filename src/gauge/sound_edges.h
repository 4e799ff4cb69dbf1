// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

namespace frayhold::gauge {

// Where the item ends where it is whole, one entry a station, without gaps: millimetres across the strip on
// the bench plane, left negative.
struct SoundEdges {
    std::vector<double> left;
    std::vector<double> right;
};

}  // namespace frayhold::gauge
