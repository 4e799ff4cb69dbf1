// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/case_file.h"
#include "record/check.h"
#include "record/life.h"
#include "store/checks.h"

namespace frayhold::desk {

using CheckInterval = store::CheckInterval;

struct DueFilter {
    std::string kit;
    std::string place;
    std::optional<Date> by;  // today where empty
    int limit = 200;
    int offset = 0;
};

// An item whose check is due, or will be by the day asked for.
struct DueCheck {
    record::Item item;
    std::optional<Date> checked;  // empty: never, and so due at once
    Date due{};
    record::LifeEnd life;
    std::string in_round;  // the running round it waits in; may be empty
};

struct RoundOrder {
    std::string kit;  // at most one of kit and place; both empty: the whole store
    std::string place;
    std::optional<Date> due_by;  // only items due by then
};

struct RoundView {
    record::CheckRound round;
    std::vector<record::ItemCheck> checks;  // without steps and findings; in the round's order
    // When it was started: items that wait in another running round already, each with its number.
    std::vector<std::string> elsewhere;
};

// What lies beside the hands while one item is checked: its last findings first.
struct CheckSheet {
    record::Item item;
    record::LifeEnd life;
    std::vector<record::ItemCheck> earlier;  // those that are done, the latest first
    std::vector<record::EarlierHold> holds;  // oldest first
    record::ItemCheck check;
    std::vector<std::string> left;  // what is still to be done, in order
    std::string rest;               // that a rest is due; empty where none is
};

// A person's result of a check.
struct CheckOrder {
    record::CheckResult result = record::CheckResult::hold;
    std::string words;    // with all but keep: what to watch, or why
    std::string witness;  // with retire: who saw the destruction; may be empty
};

}  // namespace frayhold::desk
