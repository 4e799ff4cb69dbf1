// SPDX-License-Identifier: Apache-2.0
#include "record/hold.h"

#include <fmt/format.h>

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array states{
    Named<HoldState>{HoldState::open, "open", tr_later("open")},
    Named<HoldState>{HoldState::evidence, "evidence", tr_later("gathering evidence")},
    Named<HoldState>{HoldState::ready, "ready", tr_later("ready to ask the maker")},
    Named<HoldState>{HoldState::asked, "asked", tr_later("maker asked")},
    Named<HoldState>{HoldState::answered, "answered", tr_later("maker answered")},
    Named<HoldState>{HoldState::verdict, "verdict", tr_later("verdict given")},
};

}  // namespace

std::string_view name_of(HoldState state) {
    return entry_for(states, state).name;
}
std::optional<HoldState> hold_state_named(std::string_view name) {
    return value_named(states, name);
}
std::string words_for(HoldState state) {
    return tr_word(entry_for(states, state).words);
}

const std::vector<HoldState>& all_hold_states() {
    static const std::vector<HoldState> all = values_of(states);
    return all;
}

std::string hold_number(int year, int turn) {
    return fmt::format("H-{:04}-{:04}", year, turn);
}

}  // namespace frayhold::record
