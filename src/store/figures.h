// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "language/later.h"
#include "record/correspondence.h"
#include "record/item.h"
#include "record/verdict.h"
#include "store/database.h"

namespace frayhold::store {

// The label of what the store does not say; tr_word shows it.
inline constexpr std::string_view not_recorded = tr_later("not recorded");

struct Tally {
    std::string label;
    int count = 0;
};

// Items of a kind whose life ends within a month.
struct Leaving {
    int year = 0;
    unsigned month = 0;
    record::Kind kind = record::Kind::rope_low_stretch;
    int count = 0;
};

struct AnsweredVerdict {
    std::optional<record::MakersAnswer> answer;  // empty: without one
    record::VerdictKind verdict = record::VerdictKind::retire_and_destroy;
    int count = 0;
};

// Counts over the whole store. Findings are those of holds and of checks together.
struct Figures {
    std::vector<Tally> findings_by_kind;   // each list but that by age: the most first
    std::vector<Tally> findings_by_model;  // "Arbolane 11, Brandel & Voss Ropeworks"
    std::vector<Tally> findings_by_place;
    // By the item's age in whole years from the date made on the day it was found, in that order; "not
    // recorded" last.
    std::vector<Tally> findings_by_age;
    std::vector<int> reply_days;  // of each hold: whole days from the first query to a person's reply; sorted
    std::vector<AnsweredVerdict> verdicts;
    int life_over = 0;             // still in the register, life over
    int life_unknown = 0;          // or of unknown end
    std::vector<Leaving> leaving;  // in the order of months, from this one on
};

[[nodiscard]] Figures figures(const Database& database, Date today, int months_ahead);

}  // namespace frayhold::store
