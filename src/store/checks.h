// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/check.h"
#include "store/database.h"

namespace frayhold::store {

// ---- Rounds ----
// Gives the round the next free number of its year; that number is in what comes back.
[[nodiscard]] record::CheckRound insert_round(Database& database, record::CheckRound round);
// What has no result is left out.
void end_round(Database& database, const record::CheckRound& round);
[[nodiscard]] std::optional<record::CheckRound> find_round(const Database& database,
                                                           const std::string& number);
// The latest first.
[[nodiscard]] std::vector<record::CheckRound> rounds(const Database& database, bool running_only, int limit);

// ---- The check of one item ----
void insert_check(Database& database, const record::ItemCheck& check);
// State, begun, result and what goes with it; never its steps and findings.
void update_check(Database& database, const record::ItemCheck& check);
void insert_step(Database& database, const record::ItemCheck& check, const record::StepDone& step);
void insert_stretch(Database& database, const record::ItemCheck& check, const record::Stretch& stretch,
                    const std::string& who, Time now);
void insert_pause(Database& database, const record::ItemCheck& check, const record::CheckPause& pause);
void end_pause(Database& database, const record::ItemCheck& check, const record::CheckPause& pause);
// Gives the finding the next number within its check.
[[nodiscard]] record::Finding insert_check_finding(Database& database, const record::ItemCheck& check,
                                                   record::Finding finding);

[[nodiscard]] std::optional<record::ItemCheck> find_check(const Database& database, const std::string& round,
                                                          const std::string& mark);
// Without steps, stretches, pauses and findings; in their order.
[[nodiscard]] std::vector<record::ItemCheck> checks_of_round(const Database& database,
                                                             const std::string& round);
// The running check of an item, in whichever round.
[[nodiscard]] std::optional<std::string> running_round_of(const Database& database, const std::string& mark);
// Those that are done, the latest first; 0: all.
[[nodiscard]] std::vector<record::ItemCheck> checks_of_item(const Database& database, const std::string& mark,
                                                            int limit);

// ---- When a check is due ----
struct CheckInterval {
    record::Kind kind = record::Kind::rope_low_stretch;
    record::UseRate use = record::UseRate::unknown;  // unknown: every use that has no interval of its own
    int months = 0;
};

struct DueSearch {
    std::string kit{};
    std::string place{};
    Date by{};
    int limit = 0;  // 0: all
    int offset = 0;
};

struct DueItem {
    std::string mark;
    std::optional<Date> checked;
    Date due{};
};

[[nodiscard]] std::vector<CheckInterval> check_intervals(const Database& database);
// None: the usual interval again.
void set_check_interval(Database& database, record::Kind kind, record::UseRate use,
                        std::optional<int> months);
// The interval set for kind and use; else the one set for every use of the kind; else the usual one. Where
// the use is not recorded, the shortest of those set for the kind.
[[nodiscard]] int check_months(const Database& database, record::Kind kind, record::UseRate use);
void set_checked(Database& database, const std::string& mark, std::optional<Date> checked, Date due);
// The day of the last check, where there was one.
[[nodiscard]] std::optional<Date> checked_on(const Database& database, const std::string& mark);
// The day the next check is due.
[[nodiscard]] std::optional<Date> check_due(const Database& database, const std::string& mark);
// Due anew for every item of a kind that was checked.
void refresh_due(Database& database, record::Kind kind);
// Items in service whose check is due by a day, those never checked first.
[[nodiscard]] std::vector<DueItem> due_items(const Database& database, const DueSearch& search);

}  // namespace frayhold::store
