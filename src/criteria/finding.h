// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace frayhold::criteria {

// What a person felt, saw or knows of the item and wrote down: what no photo measures. Its kind is one of the
// names listed under "findings" in the tables (Table::findings).
struct HandFinding {
    std::string kind;   // "melted", "flat_spot", "life_over"
    std::string where;  // in words for a person, "3.2 m, left side"; may be empty
};

}  // namespace frayhold::criteria
