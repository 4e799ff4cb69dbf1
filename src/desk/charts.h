// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "desk/listing.h"

// What the store shows, as charts (pack/chart.h).
namespace frayhold::desk {

struct Chart {
    std::string name;  // of a file: "findings-by-kind"
    std::string svg;
};

// Findings by kind, model, place and age, days makers take to reply, verdicts by the maker's answer, items
// leaving each month of the next years.
[[nodiscard]] std::vector<Chart> charts_of(const Figures& figures, Date today);

// At most so many bars; further ones are named below the chart.
inline constexpr std::size_t most_bars = 20;

// Of a list that is sorted and not empty.
[[nodiscard]] double median_of(const std::vector<int>& sorted);

}  // namespace frayhold::desk
