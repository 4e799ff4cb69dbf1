// SPDX-License-Identifier: Apache-2.0
#include "record/journal_entry.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>

#include "record/sample_case.h"
#include "record/temp_folder.h"

namespace frayhold::record {

namespace {

JournalEntry first_entry() {
    JournalEntry entry;
    entry.number = 1;
    entry.time = sample::at("2026-02-28T09:30:00Z");
    entry.who = "Ida \"Ida\" Fenwright";
    entry.action = "hold.open";
    entry.subject = "H-2026-0001";
    entry.details = R"({"seen":"rauh\nund grün ☂"})";
    entry.previous_hash = journal_origin();
    entry.hash = hash_of(entry);
    return entry;
}

}  // namespace

TEST_CASE("The canonical form is one JSON array") {
    CHECK(
        canonical_form(first_entry()) ==
        R"(["frayhold-journal-1",1,"2026-02-28T09:30:00Z","Ida \"Ida\" Fenwright","hold.open","H-2026-0001",)"
        R"("{\"seen\":\"rauh\\nund grün ☂\"}",)"
        R"("0000000000000000000000000000000000000000000000000000000000000000"])");
}

TEST_CASE("The hash covers every field") {
    const JournalEntry entry = first_entry();
    CHECK(entry.hash.size() == 64);
    const auto changed = [&](const auto& change) {
        JournalEntry other = entry;
        change(other);
        return hash_of(other) != entry.hash;
    };
    CHECK_FALSE(changed([](JournalEntry&) {}));
    CHECK_FALSE(changed([](JournalEntry& other) { other.hash = "ff"; }));
    CHECK(changed([](JournalEntry& other) { other.number = 2; }));
    CHECK(changed([](JournalEntry& other) { other.time += std::chrono::seconds(1); }));
    CHECK(changed([](JournalEntry& other) { other.who += " "; }));
    CHECK(changed([](JournalEntry& other) { other.action = "hold.opem"; }));
    CHECK(changed([](JournalEntry& other) { other.subject = "H-2026-0002"; }));
    CHECK(changed([](JournalEntry& other) { other.details += " "; }));
    CHECK(changed([](JournalEntry& other) { other.previous_hash[63] = '1'; }));
    // Moving a sign from one field to the next is a change too.
    CHECK(changed([](JournalEntry& other) {
        other.action += "H";
        other.subject = "-2026-0001";
    }));
}

// Outside check: Python's json and hashlib give the same canonical form and the same hash.
TEST_CASE("Another program can prove the chain") {
    nlohmann::json list = nlohmann::json::array();
    JournalEntry entry = first_entry();
    for (int i = 0; i < 20; ++i) {
        list.push_back({{"number", entry.number},
                        {"time", to_text(entry.time)},
                        {"who", entry.who},
                        {"action", entry.action},
                        {"subject", entry.subject},
                        {"details", entry.details},
                        {"previous_hash", entry.previous_hash},
                        {"hash", entry.hash}});
        entry.previous_hash = entry.hash;
        ++entry.number;
        entry.who = "Ünïcødé \\ / \x01\x1f \x7f \u2028 " + std::to_string(i);
        entry.hash = hash_of(entry);
    }
    const testing::TempFolder folder;
    const std::string path = (folder.path() / "journal.json").string();
    std::ofstream(path) << list.dump();
    const std::string command =
        std::string("/usr/bin/python3 ") + FRAYHOLD_SOURCE_DIR + "/tests/record/check_journal.py " + path;
    CHECK(std::system((command + " 20").c_str()) == 0);
    // The check itself can fail.
    list[7]["who"] = "somebody else";
    std::ofstream(path) << list.dump();
    CHECK(std::system((command + " 20 2>/dev/null").c_str()) != 0);
}

}  // namespace frayhold::record
