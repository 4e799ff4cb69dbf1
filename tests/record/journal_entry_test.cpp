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

JournalEntry sealed_entry() {
    JournalEntry entry = first_entry();
    entry.salt = std::string(32, 'a');
    entry.who_seal = seal_of(entry.salt, entry.who);
    entry.details_seal = seal_of(entry.salt, entry.details);
    entry.rows = std::string(64, 'r');
    entry.hash = hash_of(entry);
    return entry;
}

}  // namespace

TEST_CASE("The canonical form is one JSON array that holds seals in place of names") {
    JournalEntry entry = sealed_entry();
    CHECK(canonical_form(entry) == "[\"frayhold-journal-2\",1,\"2026-02-28T09:30:00Z\",\"" + entry.who_seal +
                                       "\",\"hold.open\",\"H-2026-0001\",\"" + entry.details_seal + "\",\"" +
                                       std::string(64, 'r') + "\",\"" + std::string(64, '0') + "\"]");
    CHECK(entry.who_seal.size() == 64);
    CHECK(entry.who_seal != entry.details_seal);
    CHECK(fits_its_seals(entry));
    JournalEntry other = entry;
    other.who = "Nobody";
    CHECK(hash_of(other) == entry.hash);  // the name itself is not chained: its seal is
    CHECK_FALSE(fits_its_seals(other));
    other = entry;
    other.details = "{}";
    CHECK_FALSE(fits_its_seals(other));
    // With the salt gone, what is left of name and details proves nothing and betrays nothing.
    other.salt.clear();
    CHECK(other.is_erased());
    CHECK(fits_its_seals(other));
    CHECK(hash_of(other) == entry.hash);
    for (std::string* field : {&other.who_seal, &other.details_seal, &other.rows}) {
        const std::string before = *field;
        field->front() = 'x';
        CHECK(hash_of(other) != entry.hash);
        *field = before;
    }
}

TEST_CASE("The canonical form of the first form is one JSON array") {
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
