// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

namespace frayhold::gauge {

// Where along an item its stations of 1 mm begin is chance, and decides which fibres of the left and of the
// right fall into one station. Over every place they may begin at, as likely as any other: the mean of the
// largest width, and its standard deviation, both in the unit of `left` and `right`.
struct WidestStation {
    double mean = 0.0, deviation = 0.0;
};

// left, right: how far the item reaches in each row, left of 0 and right of it. looked_at: the rows that
// count. rows: of one station, not a whole number in general, at least 1.
[[nodiscard]] WidestStation widest_station(const std::vector<double>& left, const std::vector<double>& right,
                                           const std::vector<char>& looked_at, double rows);

}  // namespace frayhold::gauge
