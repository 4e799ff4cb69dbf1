// SPDX-License-Identifier: Apache-2.0
#include "store/journal.h"

#include <catch2/catch.hpp>

#include "record/sample_case.h"
#include "store/schema.h"
#include "store/store_place.h"

namespace frayhold::store {
namespace {

record::JournalEntry entry(const std::string& action, const std::string& subject) {
    record::JournalEntry out;
    out.time = record::sample::at("2026-03-02T08:00:00Z");
    out.who = record::sample::keeper;
    out.action = action;
    out.subject = subject;
    out.details = "{}";
    return out;
}

}  // namespace

TEST_CASE("Entries are numbered and chained from the origin") {
    Database database = testing::empty_database();
    migrate(database, record::sample::at("2026-03-02T08:00:00Z"));
    CHECK_FALSE(last_journal_entry(database).has_value());
    const record::JournalEntry first = append_journal(database, entry("item.add", "K-1"));
    CHECK(first.number == 1);
    CHECK(first.previous_hash == record::journal_origin());
    CHECK(first.hash == record::hash_of(first));
    record::JournalEntry forged = entry("item.add", "K-2");
    forged.number = 77;
    forged.previous_hash = "ff";
    const record::JournalEntry second = append_journal(database, forged);
    CHECK(second.number == 2);
    CHECK(second.previous_hash == first.hash);
    CHECK(last_journal_entry(database) == second);
    std::vector<record::JournalEntry> all;
    each_journal_entry(database, [&](const record::JournalEntry& one) { all.push_back(one); });
    CHECK(all == std::vector<record::JournalEntry>{first, second});
}

TEST_CASE("Entries are found by subject, action and number") {
    Database database = testing::empty_database();
    migrate(database, record::sample::at("2026-03-02T08:00:00Z"));
    for (int i = 1; i <= 6; ++i)
        append_journal(database, entry(i % 2 ? "item.add" : "item.edit", i <= 3 ? "K-1" : "K-2"));
    const auto count = [&](const JournalSearch& search) { return search_journal(database, search).size(); };
    CHECK(count({}) == 6);
    CHECK(count({.subject = "K-1"}) == 3);
    CHECK(count({.subject = "K-2", .action = "item.edit"}) == 2);
    CHECK(count({.action = "item.add", .after = 1}) == 2);
    CHECK(count({.after = 6}) == 0);
    CHECK(search_journal(database, {.after = 2, .limit = 2}).front().number == 3);
    CHECK(count({.after = 2, .limit = 2}) == 2);
}

}  // namespace frayhold::store
