// SPDX-License-Identifier: Apache-2.0
#include "store/verify.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "store/dialect.h"
#include "store/journal.h"
#include "store/known_blobs.h"
#include "store/schema.h"
#include "store/store.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

constexpr const char* restore = "restore the last sound backup; keep this store for whoever looks into it";

void check_schema(const Database& database, VerifyReport& report) {
    std::map<std::string, std::string> found;
    for (const SchemaObject& object : schema_objects(database)) found[object.name] = object.statement;
    for (const SchemaObject& expected : expected_schema(database)) {
        const auto at = found.find(expected.name);
        if (at == found.end()) {
            report.faults.push_back({expected.name, "this table, index or trigger is missing", restore});
        } else if (at->second != expected.statement) {
            report.faults.push_back({expected.name, "this table, index or trigger was altered", restore});
        }
        if (at != found.end()) found.erase(at);
    }
    for (const auto& [name, statement] : found)
        report.faults.push_back({name, "this table, index or trigger is none of the store's own",
                                 "find out which program added it, and remove it"});
}

void check_structure(const Database& database, VerifyReport& report) {
    for (const std::string& words : database.dialect().damage(database))
        report.faults.push_back({database.name(), "the database says: " + words, restore});
    for (const BrokenReference& broken : database.dialect().broken_references(database))
        report.faults.push_back(
            {"table " + broken.table,
             fmt::format("{} refers to a row of {} that is not there", broken.row, broken.parent), restore});
}

std::string wrong_link(const record::JournalEntry& entry, std::int64_t number, const std::string& previous) {
    if (entry.number != number)
        return fmt::format("the entry after {} has number {}: entries are missing", number - 1, entry.number);
    if (entry.previous_hash != previous)
        return "it does not follow the entry before it: one of the two was altered";
    if (record::hash_of(entry) != entry.hash)
        return "it was altered after it was written: its hash is another";
    return "";
}

// Only the first wrong entry is named: every later one follows from it.
void check_journal(const Database& database, VerifyReport& report) {
    std::string previous = record::journal_origin();
    bool sound = true;
    each_journal_entry(database, [&](const record::JournalEntry& entry) {
        ++report.journal_entries;
        if (const std::string wrong = wrong_link(entry, report.journal_entries, previous);
            sound && !wrong.empty()) {
            report.faults.push_back({fmt::format("journal entry {}", entry.number), wrong, restore});
            sound = false;
        }
        previous = entry.hash;
    });
    report.journal_head = previous;
}

void check_states(const Database& database, VerifyReport& report) {
    const auto look = [&](const std::string& statement, const std::string& where, const std::string& what) {
        database.each(statement, {}, [&](Row& row) {
            report.faults.push_back({where + row.text(), what, restore});
        });
    };
    look(
        "SELECT mark FROM item WHERE status = 'on_hold' AND NOT EXISTS (SELECT 1 FROM hold WHERE hold.item = "
        "item.mark AND hold.state <> 'verdict') ORDER BY mark",
        "item ", "it is on hold without a running hold");
    look(
        "SELECT mark FROM item WHERE status <> 'on_hold' AND EXISTS (SELECT 1 FROM hold WHERE hold.item = "
        "item.mark "
        "AND hold.state <> 'verdict') ORDER BY mark",
        "item ", "it has a running hold and is not on hold");
    look(
        "SELECT number FROM hold WHERE (state = 'verdict') <> EXISTS (SELECT 1 FROM verdict WHERE "
        "verdict.hold = "
        "hold.number) ORDER BY year, turn",
        "hold ", "its state and its verdict disagree");
}

std::string words_for(Originals::Condition condition) {
    switch (condition) {
        case Originals::Condition::missing:
            return "the kept file is missing";
        case Originals::Condition::altered:
            return "the kept file was altered: its SHA-256 is another";
        case Originals::Condition::unreadable:
            return "the kept file cannot be read";
        case Originals::Condition::sound:
            break;
    }
    return "";
}

void check_kept_files(const Store& store, VerifyReport& report) {
    const std::vector<std::string> known = known_blobs(store.database());
    for (const std::string& sha256 : known) {
        const std::string wrong = words_for(store.blobs().condition(sha256));
        if (!wrong.empty())
            report.faults.push_back(
                {store.blobs().place_of(sha256), wrong,
                 "put this file back from a backup, or add the same photo or message again"});
    }
    report.kept_files = static_cast<std::int64_t>(known.size());
    for (const std::string& name : store.blobs().list())
        if (!std::binary_search(known.begin(), known.end(), name))
            report.notes.push_back(name + ": nothing refers to this file");
}

}  // namespace

VerifyReport verify(const Store& store) {
    VerifyReport report;
    const auto step = [&](const std::string& where, const auto& check) {
        try {
            check();
        } catch (const Failure& failure) {
            report.faults.push_back({where, failure.error().sentence(), restore});
        }
    };
    step("schema", [&] { check_schema(store.database(), report); });
    step("database", [&] { check_structure(store.database(), report); });
    step("journal", [&] { check_journal(store.database(), report); });
    step("records", [&] { check_states(store.database(), report); });
    step("originals", [&] { check_kept_files(store, report); });
    return report;
}

}  // namespace frayhold::store
