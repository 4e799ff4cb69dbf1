// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/case_file.h"
#include "record/hold.h"
#include "store/database.h"

namespace frayhold::store {

struct HoldSearch {
    std::string text{};  // words that begin words of the item, or the hold's number
    std::optional<record::HoldState> state{};
    bool running_only = false;
    Date today{};   // a reply due before it is overdue
    int limit = 0;  // 0: all
    int offset = 0;
};

// A hold in the queue.
struct QueuedHold {
    record::Hold hold;
    std::string maker;
    std::string model;
    std::optional<Date> reply_due;
    bool reply_to_read = false;
};

// Gives the hold the next free number of its year; that number is in what comes back.
[[nodiscard]] record::Hold insert_hold(Database& database, record::Hold hold);
// Forward only: the database itself refuses any other move. A reply is due only while the maker is asked.
void set_hold_state(Database& database, const std::string& number, record::HoldState state);
void set_reply_due(Database& database, const std::string& number, const std::optional<Date>& due);

[[nodiscard]] std::optional<record::Hold> find_hold(const Database& database, const std::string& number);
// The item's hold without a verdict.
[[nodiscard]] std::optional<record::Hold> running_hold(const Database& database, const std::string& mark);
// All holds of an item, oldest first.
[[nodiscard]] std::vector<record::Hold> holds_of(const Database& database, const std::string& mark);
// Replies to read first, then overdue ones, then the longest open.
[[nodiscard]] std::vector<QueuedHold> search_holds(const Database& database, const HoldSearch& search);
// Of those in that state whose item or number the text fits.
[[nodiscard]] int count_holds(const Database& database, const std::string& text, record::HoldState state);

}  // namespace frayhold::store
