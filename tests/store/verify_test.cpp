// SPDX-License-Identifier: Apache-2.0
#include "store/verify.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>

#include "store/sample_store.h"
#include "store/schema.h"

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
    for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
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
        entry.who_seal = record::seal_of(entry.salt, entry.who);
        tamper(database, "journal_never_changed",
               "UPDATE journal SET who = 'Nobody', who_seal = '" + entry.who_seal + "', hash = '" +
                   record::hash_of(entry) + "' WHERE number = 4");
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

TEST_CASE("The end of the journal is proved by the head that was printed", "[file]") {
    const sample::FilledStore filled;
    Store& store = *filled.store;
    const std::string printed = verify(store).journal_head;
    sample::tell(store, "item.edit", "K-13");

    SECTION("an earlier head still holds, and proves what was before it") {
        const VerifyReport report = verify(store, printed);
        CHECK(report.is_sound());
        CHECK(report.proved_up_to == 2);
    }
    SECTION("a journal cut behind it holds too; one cut before it does not") {
        tamper(store.database(), "journal_never_deleted", "DELETE FROM journal WHERE number = 3");
        CHECK(verify(store, printed).is_sound());
        tamper(store.database(), "journal_never_deleted", "DELETE FROM journal WHERE number = 2");
        CHECK(verify(store).is_sound());  // nothing inside tells: that is what the paper is for
        const VerifyReport report = verify(store, printed);
        REQUIRE(report.faults.size() == 1);
        CHECK(report.faults[0].where == "journal head " + printed);
        CHECK(report.faults[0].what ==
              "no entry has this value: entries up to it are missing or were replaced");
        CHECK_FALSE(report.proved_up_to);
    }
    SECTION("a journal rewritten with right hashes has another head") {
        const record::JournalEntry last = last_journal_entry(store.database()).value();
        record::JournalEntry forged = search_journal(store.database(), {.after = 1, .limit = 1}).front();
        tamper(store.database(), "journal_never_deleted", "DELETE FROM journal WHERE number > 1");
        forged.subject = "K-13";
        append_journal(store.database(), forged);
        CHECK(verify(store).is_sound());
        CHECK_FALSE(verify(store, printed).is_sound());
        CHECK_FALSE(verify(store, last.hash).is_sound());
    }
    SECTION("where the chain breaks before it, it proves nothing") {
        tamper(store.database(), "journal_never_changed",
               "UPDATE journal SET who = 'Nobody' WHERE number = 1");
        const VerifyReport report = verify(store, printed);
        REQUIRE(report.faults.size() == 2);
        CHECK(report.faults[1].what == "the chain does not hold up to an entry with this value");
    }
    SECTION("where the chain breaks after it, it proves what was before") {
        tamper(store.database(), "journal_never_changed",
               "UPDATE journal SET who = 'Nobody' WHERE number = 3");
        const VerifyReport report = verify(store, printed);
        CHECK(report.faults.size() == 1);
        CHECK(report.proved_up_to == 2);
    }
}

TEST_CASE("One changed cell of any table is found and named", "[file]") {
    // A store with a row in every table that the desk can fill, and every column of each.
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    {
        // What the sample leaves empty.
        Transaction transaction(database, Transaction::Purpose::write);
        const std::string hold = filled.expected.hold.number;
        const std::string t = "2026-03-01T08:00:00Z";
        database.run("INSERT INTO kit_need VALUES ('bag 1', 'harness', 2)");
        database.run("INSERT INTO check_interval VALUES ('harness', 'rare', 6)");
        database.run(
            "INSERT INTO photo_marks (hold, photo, turn, annotations, made_by, made) VALUES "
            "(:hold, 1, 1, '{}', 'x', :t)",
            {hold, t});
        database.run(
            "INSERT INTO device (number, name, holder, secret_sha256, paired_by, paired) VALUES "
            "(1, 'phone', 'Jo Marsh', :sha, 'x', :t)",
            {std::string(64, 'a'), t});
        database.run("INSERT INTO posting VALUES (:hold, 1, 'accepted', 'x', :t, NULL)", {hold, t});
        database.run("INSERT INTO post_try VALUES (:hold, 1, 1, :t, NULL, NULL, 250, 'queued')", {hold, t});
        database.run("INSERT INTO mail_folder VALUES ('imaps://x', 1, 2)");
        database.run(
            "INSERT INTO unplaced_mail VALUES (1, 'a', 'b', 'c', :t, NULL, 'why', 'x', :u, NULL, NULL, NULL, "
            "NULL)",
            {t, t});
        database.run("INSERT INTO maker VALUES ('Kestrel Loom', '[]', 'en', NULL, NULL, '')");
        transaction.commit();
    }
    database.run("PRAGMA foreign_keys = OFF");
    database.run("PRAGMA ignore_check_constraints = ON");
    database.run("PRAGMA synchronous = OFF");
    const std::vector<SchemaObject> triggers = database.all<SchemaObject>(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'", {}, [](Row& row) {
            std::string name = row.text();
            return SchemaObject{std::move(name), row.text()};
        });
    const std::vector<std::string> tables = database.all<std::string>(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name", {},
        [](Row& row) { return row.text(); });
    const auto behind_the_triggers = [&](const std::string& statement) {
        database.run("BEGIN");
        for (const SchemaObject& trigger : triggers) database.run("DROP TRIGGER " + trigger.name);
        database.run(statement);
        for (const SchemaObject& trigger : triggers) database.run(trigger.statement);
        database.run("COMMIT");
    };
    int damaged = 0;
    for (const std::string& table : tables) {
        struct Column {
            std::string name;
            std::string type;
        };
        const std::vector<Column> columns =
            database.all<Column>("SELECT name, type FROM pragma_table_info(:table)", {table}, [](Row& row) {
                std::string name = row.text();
                return Column{std::move(name), row.text()};
            });
        INFO(table);
        REQUIRE(database.count("SELECT COUNT(*) FROM " + table) > 0);
        for (const Column& column : columns) {
            const std::string other =
                column.type == "TEXT"
                    ? "COALESCE(substr(" + column.name + ", 1, length(" + column.name + ") - 1) || '#', '#')"
                    : "COALESCE(" + column.name + " + 1, 1)";
            const std::string last = " WHERE rowid = (SELECT MAX(rowid) FROM " + table + ")";
            database.run("CREATE TEMP TABLE before AS SELECT * FROM " + table + last);
            behind_the_triggers("UPDATE " + table + " SET " + column.name + " = " + other + last);
            ++damaged;

            const VerifyReport report = verify(*filled.store);
            INFO(table << "." << column.name);
            bool named = false;
            for (const VerifyFault& fault : report.faults) {
                UNSCOPED_INFO(fault.where + ": " + fault.what);
                named = named || fault.where.find("table " + table) == 0 ||
                        (table == "journal" && fault.where.find("journal entry") == 0) ||
                        (table == "row_seal" && fault.where.find("seal of rows") == 0);
                CHECK_FALSE(fault.mend.empty());
            }
            CHECK(named);
            behind_the_triggers("UPDATE " + table + " SET " + column.name + " = (SELECT " + column.name +
                                " FROM temp.before)" + last);
            database.run("DROP TABLE temp.before");
        }
    }
    CHECK(damaged > 250);
    CHECK(verify(*filled.store).is_sound());
}

TEST_CASE("A row that was added or taken away by another program is named", "[file]") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    SECTION("added") {
        database.run("INSERT INTO check_interval (kind, use_rate, months) VALUES ('harness', 'rare', 60)");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "table check_interval, row 1 (harness)");
        CHECK(fault.what == "it was added by another program");
    }
    SECTION("taken away") {
        tamper(database, "advice_never_deleted", "DELETE FROM advice WHERE rowid = 1");
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "table advice, row 1");
        CHECK(fault.what == "it is gone");
    }
    SECTION("seals cut off to hide it") {
        tamper(database, "row_seal_never_deleted", "DELETE FROM row_seal");
        const VerifyReport report = verify(*filled.store);
        CHECK(report.faults.front().where == "seal of rows before journal entry 1");
    }
    SECTION("the engine's own tidying is no change") {
        database.run("VACUUM");
        CHECK(verify(*filled.store).is_sound());
    }
}

TEST_CASE("A kept file that was altered, lost or added is named") {
    const sample::FilledStore filled;
    const fs::path original = filled.store->blobs().place_of(filled.expected.photos[0].sha256);

    SECTION("cut short") {
        fs::permissions(original, fs::perms::owner_all);
        fs::resize_file(original, 5);
        CHECK(only_fault(*filled.store).what == "the kept file was altered: its SHA-256 is another");
    }
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
    SECTION("a column added") {
        if (testing::on_server()) return;
        database.run("ALTER TABLE finding ADD COLUMN extra TEXT");
        CHECK(only_fault(*filled.store).where == "finding");
    }
    SECTION("an index taken away") {
        database.run("DROP INDEX hold_running");
        CHECK(only_fault(*filled.store).where == "hold_running");
    }
    SECTION("something added") {
        database.run("CREATE TABLE extra (a INTEGER)");
        const VerifyFault fault = verify(*filled.store).faults.front();
        CHECK(fault.where == "extra");
        CHECK(fault.what == "this table, index or trigger is none of the store's own");
    }
}

TEST_CASE("A row that refers to nothing is named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    if (!testing::on_server()) database.run("PRAGMA foreign_keys = OFF");
    tamper(database, "finding_never_changed", "UPDATE finding SET hold = 'H-1999-0001'");
    const VerifyReport report = verify(*filled.store);
    const std::string row = testing::on_server() ? "the row with hold = H-1999-0001" : "row 1";
    const auto found = std::find_if(report.faults.begin(), report.faults.end(),
                                    [](const VerifyFault& fault) { return fault.where == "table finding"; });
    REQUIRE(found != report.faults.end());
    CHECK(found->what == row + " refers to a row of hold that is not there");
}

TEST_CASE("States that disagree are named") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    SECTION("an item on hold without a hold") {
        Transaction transaction(database, Transaction::Purpose::write);
        database.run("UPDATE item SET status = 'on_hold' WHERE mark = 'K-13'");
        transaction.commit();
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
        Transaction transaction(database, Transaction::Purpose::write);
        static_cast<void>(insert_hold(database, hold));
        transaction.commit();
        CHECK(only_fault(*filled.store).what == "it has a running hold and is not on hold");
    }
    SECTION("a hold that is over without a verdict") {
        record::Hold hold;
        hold.item = "K-13";
        hold.seen = "x";
        hold.opened_by = "x";
        hold.opened = now;
        Transaction transaction(database, Transaction::Purpose::write);
        const std::string number = insert_hold(database, hold).number;
        set_hold_state(database, number, record::HoldState::verdict);
        transaction.commit();
        const VerifyFault fault = only_fault(*filled.store);
        CHECK(fault.where == "hold " + number);
        CHECK(fault.what == "its state and its verdict disagree");
    }
}

TEST_CASE("A store that cannot be read is told, not thrown") {
    const sample::FilledStore filled;
    filled.store->close();
    const VerifyReport report = verify(*filled.store);
    REQUIRE(report.faults.size() == 1);
    CHECK(report.faults.front().what.find("the store is closed") != std::string::npos);
}

}  // namespace frayhold::store
