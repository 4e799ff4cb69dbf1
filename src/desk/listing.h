// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "record/case_file.h"
#include "record/check.h"
#include "record/life.h"
#include "store/figures.h"
#include "store/items.h"
#include "store/verify.h"

namespace frayhold::desk {

// Fields left empty do not narrow the search. `text` holds words, each of which must begin a word of the
// item's mark, serial, maker, model, batch, kit or place, upper and lower case alike.
struct ItemFilter {
    std::string text;
    std::string maker;
    std::string model;
    std::string batch;
    std::string kit;
    std::string place;
    std::optional<record::ItemStatus> status;
    int limit = 200;
    int offset = 0;
};

// An item with all that happened to it.
struct ItemHistory {
    record::Item item;
    record::LifeEnd life;
    std::vector<record::EarlierHold> holds;  // all of them, oldest first
    std::vector<record::Item> parts;         // cut from this item
    std::vector<record::ItemCheck> checks;   // those that are done, the latest first
    std::optional<Date> check_due;           // empty while out of service
    std::vector<record::JournalEntry> journal;
};

struct LifeFilter {
    std::optional<Date> by;  // today and the time of warning where empty (record/life.h)
    int limit = 200;
    int offset = 0;
};

struct LifeLine {
    record::Item item;
    record::LifeEnd life;
};

using DestroyedItem = store::Destroyed;
using Figures = store::Figures;

// A kit: what it must have in service, and what it has.
struct KitState {
    struct Line {
        record::Kind kind = record::Kind::rope_low_stretch;
        int needed = 0;
        int in_service = 0;
        int out_of_service = 0;  // on hold or with the maker

        [[nodiscard]] int missing() const { return needed > in_service ? needed - in_service : 0; }
    };

    std::string name;
    std::vector<Line> lines;
    std::vector<record::Item> limited;         // in service with a limit
    std::vector<record::Item> out_of_service;  // on hold or with the maker

    [[nodiscard]] bool is_short() const {
        return std::any_of(lines.begin(), lines.end(), [](const Line& line) { return line.missing() > 0; });
    }
};

struct HoldFilter {
    std::string text;  // as in ItemFilter, or the hold's number
    std::optional<record::HoldState> state;
    bool running_only = false;  // without a verdict
    int limit = 200;
    int offset = 0;
};

// One line of the queue: replies to read first, then overdue ones, then the longest open.
struct HoldLine {
    record::Hold hold;
    std::string maker;
    std::string model;
    std::optional<Date> reply_due;
    bool overdue = false;        // the reply was due before today
    bool reply_to_read = false;  // a reply is in and its answer is not entered
};

struct HoldCounts {
    std::vector<std::pair<record::HoldState, int>> by_state;  // every state, in the order of the case
    int running = 0;                                          // without a verdict
};

struct DueReply {
    record::Query query;
    record::Hold hold;
    int days_overdue = 0;  // below zero: due in so many days
};

// Which items a maker's notice speaks of: same maker and model, and the batch or the dates made, both ends
// included. An item whose batch or date made is not recorded is taken in: unknown is the unsafe case.
struct BatchNotice {
    std::string maker;
    std::string model;
    std::string batch;
    std::optional<Date> made_from;
    std::optional<Date> made_to;
    std::string words;  // which notice, and what it says
};

struct BatchPlan {
    std::vector<record::Item> to_hold;
    std::vector<record::Item> taken_in_unknown;  // those of to_hold whose batch or date made is not recorded
    std::vector<record::Item> already_held;
    std::vector<record::Item> out_of_service;  // retired or with the maker
    std::vector<record::Hold> opened;          // empty in a preview
};

struct JournalFilter {
    std::string subject;  // an item's mark or a hold's number
    std::string action;
    std::int64_t after = 0;  // entries with a higher number
    int limit = 1000;
};

using VerifyFault = store::VerifyFault;
using VerifyReport = store::VerifyReport;

}  // namespace frayhold::desk
