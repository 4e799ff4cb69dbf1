// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/advice_entry.h"
#include "units/date.h"
#include "units/quantity.h"

namespace frayhold::record {

// A finding by hand on one hold: what fingers felt or an eye saw. Never altered once recorded: a wrong one is
// answered by a further finding.
struct Finding {
    int number = 0;                      // 1, 2, 3, … within its hold; given by the store
    std::string hold;                    // number of the hold it belongs to
    std::string kind;                    // a finding the criteria tables know: "stiff", "melted"
    std::string kind_words;              // the table's words for it at that time: "Melted or fused fibres"
    std::optional<Millimetres> station;  // along the item from its marked end
    std::string side;                    // in the person's words: "label side", "both"
    std::string words;
    std::string found_by;
    Time found{};
    std::vector<AdviceEntry> advice;  // what the criteria said of it when it was recorded

    bool operator==(const Finding&) const = default;
};

// "at 3.2 m, left side"; empty where neither is recorded.
[[nodiscard]] std::string place_words(const Finding& finding);

}  // namespace frayhold::record
