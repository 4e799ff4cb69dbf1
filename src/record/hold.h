// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"

namespace frayhold::record {

// In the order of the case; a hold only moves forward.
enum class HoldState {
    open,      // the item is out of service, nothing else is recorded
    evidence,  // findings or photos are being gathered
    ready,     // the evidence list is complete
    asked,     // a query went to the maker
    answered,  // a person entered the maker's answer
    verdict,   // a named competent person decided: the hold is over
};

// One quarantine case of one item.
struct Hold {
    std::string number;  // "H-2026-0001": the year it was opened and its turn in that year
    std::string item;    // the item's mark
    HoldState state = HoldState::open;
    std::string seen;  // what was seen, in the opener's words
    std::string opened_by;
    Time opened{};
    std::string batch_note;  // where a maker's notice about a batch opened it: which notice

    bool operator==(const Hold&) const = default;
};

[[nodiscard]] std::string_view name_of(HoldState state);
[[nodiscard]] std::optional<HoldState> hold_state_named(std::string_view name);
[[nodiscard]] std::string words_for(HoldState state);
[[nodiscard]] const std::vector<HoldState>& all_hold_states();

// "H-2026-0001" from 2026 and 1; more digits after 9999.
[[nodiscard]] std::string hold_number(int year, int turn);

}  // namespace frayhold::record
