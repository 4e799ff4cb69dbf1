// SPDX-License-Identifier: Apache-2.0
#include "store/verify.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>

#include "store/sample_store.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

const Time now = record::sample::at("2026-03-02T08:00:00Z");

// Changes the database as somebody with another tool would, who takes the triggers away first and puts them
// back.
void tamper(Database& database, const std::string& trigger, const std::string& statement) {
    if (testing::on_server()) {
        database.run("SET session_replication_role TO replica");
        database.run(statement);
        database.run("SET session_replication_role TO origin");
        return;
    }
    const std::string text = database
                                 .first<std::string>("SELECT sql FROM sqlite_master WHERE name = :name",
                                                     {trigger}, [](Row& row) { return row.text(); })
                                 .value();
    database.run("DROP TRIGGER " + trigger);
    database.run(statement);
    database.run(text);
}

std::string drop_trigger(const std::string& name, const std::string& table) {
    return "DROP TRIGGER " + name + (testing::on_server() ? " ON " + table : "");
}

VerifyFault only_fault(const Store& store) {
    const VerifyReport report = verify(store);
    for (const VerifyFault& fault : report.faults) INFO(fault.where + ": " + fault.what);
    REQUIRE(report.faults.size() == 1);
    CHECK_FALSE(report.is_sound());
    CHECK_FALSE(report.faults.front().mend.empty());
    return report.faults.front();
}

}  // namespace

TEST_CASE("A sound store verifies") {
    const sample::FilledStore filled;
    const VerifyReport report = verify(*filled.store);
    for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
    CHECK(report.is_sound());
    CHECK(report.notes.empty());
    CHECK(report.journal_entries == 2);
    CHECK(report.journal_head == filled.expected.journal.back().hash);
    CHECK(report.kept_files == 5);
}

TEST_CASE("An empty store verifies, and its head is the origin") {
    const testing::StorePlace place;
    const Store store(place.location, now);
    CHECK(verify(store).is_sound());
    CHECK(verify(store).journal_head == record::journal_origin());
}

TEST_CASE("The first wrong journal entry is named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    for (int i = 0; i < 5; ++i) sample::tell(*filled.store, "item.edit", "K-13");
    REQUIRE(verify(*filled.store).is_sound());

    SECTION("an altered entry") {
        tamper(database, "journal_never_changed", "UPDATE journal SET who = 'Nobody' WHERE number IN (4, 6)");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "journal entry 4");
        CHECK(fault.what == "it was altered after it was written: its hash is another");
    }
    SECTION("an entry altered together with its hash") {
        record::JournalEntry entry = search_journal(database, {.after = 3, .limit = 1}).front();
        entry.who = "Nobody";
        tamper(database, "journal_never_changed",
               "UPDATE journal SET who = 'Nobody', hash = '" + record::hash_of(entry) + "' WHERE number = 4");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "journal entry 5");
        CHECK(fault.what == "it does not follow the entry before it: one of the two was altered");
    }
    SECTION("an entry that is gone") {
        tamper(database, "journal_never_deleted", "DELETE FROM journal WHERE number = 4");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "journal entry 5");
        CHECK(fault.what == "the entry after 3 has number 5: entries are missing");
    }
    SECTION("the first entry is gone") {
        tamper(database, "journal_never_deleted", "DELETE FROM journal WHERE number = 1");
        CHECK(only_fault(*filled.store).where == "journal entry 2");
    }
}

TEST_CASE("The end of the journal is proved by the head that was printed") {
    const sample::FilledStore filled;
    const std::string printed = verify(*filled.store).journal_head;
    tamper(filled.store->database(), "journal_never_deleted", "DELETE FROM journal WHERE number = 2");
    const VerifyReport report = verify(*filled.store);
    CHECK(report.is_sound());
    CHECK(report.journal_head != printed);
}

TEST_CASE("A kept file that was altered, lost or added is named") {
    const sample::FilledStore filled;
    const fs::path original = filled.store->blobs().place_of(filled.expected.photos[0].sha256);

    SECTION("altered by one bit") {
        fs::permissions(original, fs::perms::owner_all);
        std::fstream file(original, std::ios::in | std::ios::out | std::ios::binary);
        file.put('q');
        file.close();
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == original.string());
        CHECK(fault.what == "the kept file was altered: its SHA-256 is another");
    }
    SECTION("lost") {
        fs::remove(original);
        CHECK(only_fault(*filled.store).what == "the kept file is missing");
    }
    SECTION("a folder in its place") {
        fs::remove(original);
        fs::create_directories(original);
        CHECK(only_fault(*filled.store).what == "the kept file cannot be read");
    }
    SECTION("added: a note, no fault") {
        const std::string stray = filled.store->blobs().keep({});
        std::ofstream(original.parent_path() / "notes.txt") << "x";
        const VerifyReport report = verify(*filled.store);
        CHECK(report.is_sound());
        REQUIRE(report.notes.size() == 2);
        CHECK(report.notes[1].find(stray) == 0);
        CHECK(report.notes[0].find("notes.txt: nothing refers to this file") != std::string::npos);
    }
}

TEST_CASE("A changed schema is named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    SECTION("a trigger taken away") {
        database.run(drop_trigger("journal_never_deleted", "journal"));
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "journal_never_deleted");
        CHECK(fault.what == "this table, index or trigger is missing");
    }
    SECTION("a trigger weakened") {
        if (testing::on_server()) {
            database.run("ALTER TABLE journal DISABLE TRIGGER journal_never_deleted");
        } else {
            database.run("DROP TRIGGER journal_never_deleted");
            database.run("CREATE TRIGGER journal_never_deleted BEFORE DELETE ON journal BEGIN SELECT 1; END");
        }
        CHECK(only_fault(*filled.store).what == "this table, index or trigger was altered");
    }
    SECTION("an index taken away") {
        database.run("DROP INDEX hold_running");
        CHECK(only_fault(*filled.store).where == "hold_running");
    }
    SECTION("something added") {
        database.run("CREATE TABLE extra (a INTEGER)");
        CHECK(only_fault(*filled.store).where == "extra");
    }
}

TEST_CASE("A row that refers to nothing is named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    if (!testing::on_server()) database.run("PRAGMA foreign_keys = OFF");
    tamper(database, "finding_never_changed", "UPDATE finding SET hold = 'H-1999-0001'");
    const VerifyReport report = verify(*filled.store);
    const std::string row = testing::on_server() ? "the row whose hold is H-1999-0001" : "row 1";
    const auto found = std::find_if(report.faults.begin(), report.faults.end(),
                                    [](const VerifyFault& fault) { return fault.where == "table finding"; });
    REQUIRE(found != report.faults.end());
    CHECK(found->what == row + " refers to a row of hold that is not there");
}

TEST_CASE("States that disagree are named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    SECTION("an item on hold without a hold") {
        database.run("UPDATE item SET status = 'on_hold' WHERE mark = 'K-13'");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "item K-13");
        CHECK(fault.what == "it is on hold without a running hold");
    }
    SECTION("a held item put back into service behind the hold's back") {
        record::Hold hold;
        hold.item = "K-13";
        hold.seen = "x";
        hold.opened_by = "x";
        hold.opened = now;
        static_cast<void>(insert_hold(database, hold));
        CHECK(only_fault(*filled.store).what == "it has a running hold and is not on hold");
    }
    SECTION("a hold that is over without a verdict") {
        record::Hold hold;
        hold.item = "K-13";
        hold.seen = "x";
        hold.opened_by = "x";
        hold.opened = now;
        const std::string number = insert_hold(database, hold).number;
        set_hold_state(database, number, record::HoldState::verdict);
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "hold " + number);
        CHECK(fault.what == "its state and its verdict disagree");
    }
}

TEST_CASE("A store that cannot be read is told, not thrown") {
    const sample::FilledStore filled;
    filled.store->close();
    const VerifyReport report = verify(*filled.store);
    CHECK(report.faults.size() == 5);
    CHECK(report.faults.front().what.find("the store is closed") != std::string::npos);
}

}  // namespace frayhold::store
