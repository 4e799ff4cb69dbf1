// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <future>

namespace frayhold::gauge {

// Does two things that do not touch each other's data, the other on a thread of its own: loops of
// cv::parallel_for_ within either are still shared out, which they are not within such a loop.
template <class One, class Other>
void side_by_side(const One& one, const Other& other) {
    auto there = std::async(std::launch::async, other);
    one();
    there.get();
}

}  // namespace frayhold::gauge
