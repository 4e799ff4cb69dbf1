// SPDX-License-Identifier: Apache-2.0
#include "gauge/station_phase.h"

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {
namespace {

double widest_at(const std::vector<double>& left, const std::vector<double>& right,
                 const std::vector<char>& looked_at, double rows, double phase) {
    double widest = 0.0, leftmost = 0.0, rightmost = 0.0, station = -1.0;
    for (std::size_t r = 0; r < left.size(); ++r) {
        if (!looked_at[r]) continue;
        const double here = std::floor((static_cast<double>(r) + 0.5) / rows + phase);
        if (here != station) leftmost = rightmost = 0.0;
        station = here;
        leftmost = std::min(leftmost, left[r]);
        rightmost = std::max(rightmost, right[r]);
        widest = std::max(widest, rightmost - leftmost);
    }
    return widest;
}

}  // namespace

WidestStation widest_station(const std::vector<double>& left, const std::vector<double>& right,
                             const std::vector<char>& looked_at, double rows) {
    constexpr int phases = 16;  // finer than the rows of most pictures
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < phases; ++i) {
        const double widest = widest_at(left, right, looked_at, rows, static_cast<double>(i) / phases);
        sum += widest;
        squares += widest * widest;
    }
    const double mean = sum / phases;
    return {mean, std::sqrt(std::max(0.0, squares / phases - mean * mean))};
}

}  // namespace frayhold::gauge
