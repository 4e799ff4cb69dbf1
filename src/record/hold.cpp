// SPDX-License-Identifier: Apache-2.0
#include "record/hold.h"

#include <fmt/format.h>

#include <array>

#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array states{
    Named<HoldState>{HoldState::open, "open", "open"},
    Named<HoldState>{HoldState::evidence, "evidence", "gathering evidence"},
    Named<HoldState>{HoldState::ready, "ready", "ready to ask the maker"},
    Named<HoldState>{HoldState::asked, "asked", "maker asked"},
    Named<HoldState>{HoldState::answered, "answered", "maker answered"},
    Named<HoldState>{HoldState::verdict, "verdict", "verdict given"},
};

}  // namespace

std::string_view name_of(HoldState state) {
    return entry_for(states, state).name;
}
std::optional<HoldState> hold_state_named(std::string_view name) {
    return value_named(states, name);
}
std::string_view words_for(HoldState state) {
    return entry_for(states, state).words;
}

const std::vector<HoldState>& all_hold_states() {
    static const std::vector<HoldState> all = values_of(states);
    return all;
}

std::string hold_number(int year, int turn) {
    return fmt::format("H-{:04}-{:04}", year, turn);
}

}  // namespace frayhold::record
