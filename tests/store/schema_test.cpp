// SPDX-License-Identifier: Apache-2.0
#include "store/schema.h"

#include <catch2/catch.hpp>

#include "record/sample_case.h"
#include "store/checks.h"
#include "store/failure_of.h"
#include "store/holds.h"
#include "store/items.h"
#include "store/sample_store.h"

namespace frayhold::store {
namespace {

using testing::engine_words;
using testing::failure_of;
using testing::StorePlace;

const Time now = record::sample::at("2026-03-02T08:00:00Z");

std::string words_of(Database& database, const std::string& statement, const Values& values = {}) {
    return failure_of([&] { database.run(statement, values); }).what;
}

bool refuses(Database& database, const std::string& statement, const std::string& words) {
    INFO(statement);
    const std::string told = words_of(database, statement);
    INFO(told);
    return told.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("An empty database comes to the newest schema, and stays there") {
    Database database = testing::empty_database();
    CHECK(schema_version(database) == 0);
    migrate(database, now);
    CHECK(schema_version(database) == newest_schema());
    const std::vector<SchemaObject> objects = schema_objects(database);
    migrate(database, now);
    CHECK(schema_objects(database) == objects);
    CHECK(database.count("SELECT COUNT(*) FROM schema_version") == newest_schema());
    CHECK(database.count("SELECT COUNT(*) FROM schema_version WHERE applied = '2026-03-02T08:00:00Z'") ==
          newest_schema());
}

TEST_CASE("A store of version 1 keeps its rows and gains its search") {
    const StorePlace place;
    {
        Database old = place.database();
        migrate(old, now, 1);
        CHECK(schema_version(old) == 1);
        for (const char* mark : {"K-1", "K-2"})
            old.run(
                "INSERT INTO item (mark, kind, serial, maker, model, batch, standard, material, "
                "sheath_colour, "
                "core_colour, place, kit, note, status, limit_words) VALUES (:mark, 'sewn_sling', '', "
                "'Kestrel "
                "Loom', 'Broadleaf 25', '', '', '', '', '', 'Lower Ashmeer', '', '', 'in_service', '')",
                {mark});
        old.run("UPDATE item SET made = '2016-02-29', years_from_made = 10 WHERE mark = 'K-1'");
    }
    Database database = place.database();
    migrate(database, now);
    CHECK(schema_version(database) == newest_schema());
    CHECK(find_item(database, "K-1")->kind == record::Kind::sewn_sling);
    CHECK(search_items(database, {.text = "kestrel ashm"}).size() == 2);
    CHECK(search_items(database, {.text = "K-2"}).size() == 1);
    // What later steps derive is there for the old rows too.
    CHECK(due_items(database, {.by = record::sample::today}).size() == 2);
    CHECK(search_lives(database, {.by = record::sample::day("2026-02-27")}).empty());
    CHECK(search_lives(database, {.by = record::sample::day("2026-02-28")}).at(0).mark == "K-1");
    // Step by step or at once: the same schema.
    Database fresh = testing::empty_database();
    migrate(fresh, now);
    CHECK(schema_objects(fresh) == schema_objects(database));
}

TEST_CASE("A store of a newer program is refused and left as it is") {
    Database database = testing::empty_database();
    migrate(database, now);
    database.run("INSERT INTO schema_version (version, applied) VALUES (:version, :applied)",
                 {newest_schema() + 1, now});
    const Error error = failure_of([&] { migrate(database, now); });
    CHECK(error.fault == Fault::input);
    CHECK(error.what == "the store has schema " + std::to_string(newest_schema() + 1) +
                            ", and this program knows only up to " + std::to_string(newest_schema()));
    CHECK(schema_version(database) == newest_schema() + 1);
}

TEST_CASE("A migration that fails half-way leaves the version before it") {
    Database database = testing::empty_database();
    migrate(database, now, 1);
    database.run("CREATE TABLE item_word (in_the_way INTEGER)");
    CHECK(failure_of([&] { migrate(database, now); }).fault == Fault::outside);
    CHECK(schema_version(database) == 1);
    database.run("DROP TABLE item_word");
    migrate(database, now);
    CHECK(schema_version(database) == newest_schema());
}

TEST_CASE("What was recorded is never erased and never changed") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    for (const char* table :
         {"blob",          "item",        "hold",         "finding",     "photo",      "reading",
          "advice",        "waived_view", "query",        "reply",       "attachment", "answer",
          "verdict",       "part",        "journal",      "check_round", "item_check", "check_step",
          "check_stretch", "check_pause", "check_finding"}) {
        REQUIRE(database.count(std::string("SELECT COUNT(*) FROM ") + table) > 0);
        CHECK(refuses(database, std::string("DELETE FROM ") + table,
                      std::string("rows of ") + table + " are never deleted"));
    }
    for (const char* set : {"blob SET size_bytes = 1",
                            "item SET mark = 'K-99'",
                            "item SET parent = 'K-12'",
                            "hold SET seen = 'x'",
                            "hold SET item = 'K-13'",
                            "hold SET opened_by = 'x'",
                            "finding SET words = 'x'",
                            "photo SET usable = 0",
                            "photo SET role = 'label'",
                            "reading SET u = 0",
                            "advice SET outcome = 'no_criterion_met'",
                            "waived_view SET reason = 'x'",
                            "reply SET body = 'x'",
                            "attachment SET file_name = 'x'",
                            "answer SET answer = 'fit'",
                            "verdict SET reason = 'x'",
                            "part SET length_mm = 1",
                            "journal SET who = 'x'",
                            "check_round SET kit = 'x'",
                            "check_step SET words = 'x'",
                            "check_stretch SET to_mm = 9",
                            "check_finding SET words = 'x'"})
        CHECK(refuses(database, std::string("UPDATE ") + set, "are never changed"));
    record::Query unsent = filled.expected.queries.front();
    unsent.message_id = "H-2026-0001.2@korrel.example";
    static_cast<void>(insert_query(database, unsent, 14));
    CHECK(refuses(database, "UPDATE query SET subject = 'x' WHERE sent IS NULL", "are never changed"));
    CHECK(refuses(database, "UPDATE query SET sent = '2026-01-01T00:00:00Z' WHERE sent IS NOT NULL",
                  "a query that was sent stays as it was sent"));
}

TEST_CASE("The database itself holds a hold to its way") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    CHECK(refuses(database, "UPDATE item_check SET words = 'x'", "a check that is done stays as it is"));
    CHECK(refuses(database, "UPDATE check_pause SET resumed_by = 'x'", "a pause that ended stays as it is"));
    CHECK(refuses(database, "UPDATE hold SET state = 'open' WHERE state = 'verdict'",
                  "a hold only moves forward"));
    CHECK(refuses(database, "UPDATE hold SET state = 'verdict' WHERE state = 'verdict'",
                  "a hold only moves forward"));
    // Two running holds on one item.
    record::Hold hold;
    hold.item = "K-13";
    hold.seen = "x";
    hold.opened_by = "x";
    hold.opened = now;
    static_cast<void>(insert_hold(database, hold));
    CHECK(failure_of([&] {
              static_cast<void>(insert_hold(database, hold));
          }).what.find(engine_words("UNIQUE")) != std::string::npos);
}

TEST_CASE("Foreign keys hold") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    const std::string fails = engine_words("FOREIGN KEY");
    const std::string sha(64, 'f');
    CHECK(refuses(database, "UPDATE photo SET sha256 = '" + sha + "'", "never changed"));
    for (const std::string& insert : {
             std::string("INSERT INTO finding VALUES ('H-1999-0001', 1, 'stiff', '', NULL, '', '', 'x', "
                         "'2026-01-01T00:00:00Z')"),
             "INSERT INTO photo VALUES ('H-2026-0001', 99, 'label', '" + sha +
                 "', '', 0, '', 1, '[]', 0, '{}', NULL, 'x', '2026-01-01T00:00:00Z')",
             std::string("INSERT INTO reading VALUES ('H-2026-0001', 99, 1, 'distance', 1.0, 0.1, 2.0, 0.2, "
                         "NULL, '[]', "
                         "'[]')"),
             std::string("INSERT INTO advice VALUES ('H-2026-0001', 99, NULL, 1, 'c', 'retire', 1.0, '', '', "
                         "'', 0, 0)"),
             std::string("INSERT INTO answer VALUES ('H-2026-0001', 99, 9, 'fit', '', '', 'x', "
                         "'2026-01-01T00:00:00Z')"),
             std::string("INSERT INTO verdict VALUES ('H-1999-0001', 'retire_and_destroy', 'x', "
                         "'2026-01-01T00:00:00Z', '', '', NULL, '', '[]')"),
             std::string("INSERT INTO part VALUES ('H-2026-0001', 9, 'K-77', 1.0)"),
             std::string("INSERT INTO item_word VALUES ('w', 'K-77')"),
         })
        CHECK(refuses(database, insert, fails));
}

TEST_CASE("Checks hold what a column may say") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    const std::string fails = engine_words("CHECK");
    CHECK(refuses(database, "UPDATE item SET status = 'lost' WHERE mark = 'K-13'", fails));
    CHECK(refuses(database, "UPDATE item SET status = 'in_service_with_limit' WHERE mark = 'K-13'", fails));
    CHECK(refuses(database, "UPDATE item SET limit_words = 'x' WHERE mark = 'K-13'", fails));
    CHECK(refuses(database, "UPDATE item SET length_mm = 0.0 WHERE mark = 'K-13'", fails));
    CHECK(refuses(database, "UPDATE item SET made = 'long ago' WHERE mark = 'K-13'", fails));
    CHECK(refuses(database, "UPDATE hold SET reply_due = '2026-01-01'", fails));
    CHECK(refuses(database, "INSERT INTO blob VALUES ('abc', 1, '2026-01-01T00:00:00Z')", fails));
    // A verdict against a rule without a reason, a limit without words, parts without a scrapped length.
    record::Hold hold;
    hold.item = "K-13";
    hold.seen = "x";
    hold.opened_by = "x";
    hold.opened = now;
    const std::string number = insert_hold(database, hold).number;
    const std::string given = "'x', '2026-01-01T00:00:00Z', ";
    for (const std::string& verdict : {"'return_to_service', " + given + "'', '', NULL, '', '[\"a rule\"]'",
                                       "'return_with_limit', " + given + "'', '', NULL, '', '[]'",
                                       "'cut_and_keep_parts', " + given + "'', '', NULL, '', '[]'",
                                       "'retire_and_destroy', " + given + "'', '', 1.0, '', '[]'"})
        CHECK(refuses(database, "INSERT INTO verdict VALUES ('" + number + "', " + verdict + ")", fails));
    CHECK(words_of(database, "UPDATE item SET years_from_made = :years WHERE mark = 'K-13'", {"ten"})
              .find(engine_words("type")) != std::string::npos);
}

}  // namespace frayhold::store
