// SPDX-License-Identifier: Apache-2.0
#include "store/database.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <limits>

#include "store/dialect.h"
#include "store/failure_of.h"
#include "store/store_place.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;
using testing::empty_database;
using testing::engine_words;
using testing::failure_of;
using testing::StorePlace;
using testing::TempFolder;

Database::Options impatient() {
    return {std::chrono::milliseconds(50)};
}

std::string text_of(const Database& database, const std::string& statement) {
    return database.first<std::string>(statement, {}, [](Row& row) { return row.text(); }).value();
}

}  // namespace

TEST_CASE("Cells come back as they went in") {
    const StorePlace place;
    Database database = place.database();
    database.run(database.dialect().table("t", "n INTEGER, r REAL, s TEXT, x TEXT"));
    const std::string odd = "it's \"odd\" :x ?1 grün\n\t\\ %s";
    const std::int64_t wide = std::numeric_limits<std::int64_t>::max();
    database.run("INSERT INTO t (n, r, s, x) VALUES (:n, :r, :s, :x)", {wide, 0.1, odd, nullptr});
    database.run("INSERT INTO t (n, r, s, x) VALUES (:n, :r, :s, :x)",
                 {std::numeric_limits<std::int64_t>::min(), -1e300, "", std::optional<Date>()});
    int rows = 0;
    database.each("SELECT n, r, s, x FROM t ORDER BY n DESC", {}, [&](Row& row) {
        ++rows;
        if (rows == 1) {
            CHECK(row.number() == wide);
            CHECK(row.real() == 0.1);
            CHECK(row.text() == odd);
            CHECK_FALSE(row.date_or_none().has_value());
        } else {
            CHECK(row.number() == std::numeric_limits<std::int64_t>::min());
            CHECK(row.real() == -1e300);
            CHECK(row.text().empty());
            CHECK(row.text_or_empty().empty());
        }
    });
    CHECK(rows == 2);
    CHECK(database.count("SELECT COUNT(*) FROM t") == 2);
    CHECK(database.count("SELECT MAX(n) FROM t WHERE n = 0") == 0);
}

TEST_CASE("Dates, times, lengths and truth values have a form of their own") {
    Database database = empty_database();
    database.run(database.dialect().table("t", "d TEXT, t TEXT, l REAL, b INTEGER"));
    const Date date = parse_date("2024-02-29").value();
    const Time time = parse_time("2026-02-28T09:30:01Z").value();
    database.run("INSERT INTO t VALUES (:d, :t, :l, :b)", {date, time, Millimetres(12.5), true});
    CHECK(text_of(database, "SELECT d FROM t") == "2024-02-29");
    CHECK(text_of(database, "SELECT t FROM t") == "2026-02-28T09:30:01Z");
    database.each("SELECT d, t, l, b FROM t", {}, [&](Row& row) {
        CHECK(row.date() == date);
        CHECK(row.time() == time);
        CHECK(row.length_or_none() == Millimetres(12.5));
        CHECK(row.boolean());
    });
}

TEST_CASE("A cell of another kind is told, not guessed") {
    Database database = empty_database();
    const auto read = [&](const std::string& value, const auto& take) {
        return failure_of([&] { database.each("SELECT " + value, {}, take); });
    };
    CHECK(read("NULL", [](Row& row) { static_cast<void>(row.text()); }).what ==
          "column 1 of a row holds no text");
    CHECK(read("'x'", [](Row& row) { static_cast<void>(row.number()); }).what ==
          "column 1 of a row holds no whole number");
    CHECK(read("'2026-02-30'", [](Row& row) { static_cast<void>(row.date()); }).what ==
          "column 1 of a row holds no date");
    CHECK(read("'2026-02-28'", [](Row& row) { static_cast<void>(row.time()); }).what ==
          "column 1 of a row holds no time");
    CHECK(read("'1'", [](Row& row) {
              static_cast<void>(row.number());
              static_cast<void>(row.number());
          }).what == "column 2 of a row holds no value at all");
    CHECK(read("'3000000000'", [](Row& row) { static_cast<void>(row.integer()); }).fault == Fault::outside);
}

TEST_CASE("It is kept as its header says", "[file]") {
    const TempFolder folder;
    Database database(folder.path() / "a.db");
    CHECK(database.count("PRAGMA foreign_keys") == 1);
    CHECK(database.count("PRAGMA synchronous") == 2);
    CHECK(text_of(database, "PRAGMA journal_mode") == "wal");
}

TEST_CASE("A failure carries the statement and the engine's own words") {
    const StorePlace place;
    Database database = place.database();
    const Error missing = failure_of([&] { database.run("INSERT INTO nowhere\n    (a) VALUES (:a)", {1}); });
    CHECK(missing.fault == Fault::outside);
    CHECK(missing.where == database.name());
    CHECK(missing.what.find(testing::on_server() ? "relation \"nowhere\" does not exist"
                                                 : "no such table: nowhere") != std::string::npos);
    CHECK(missing.what.find("\"INSERT INTO nowhere (a) VALUES (:a)\"") != std::string::npos);

    database.run(database.dialect().table("t", "a INTEGER PRIMARY KEY, b INTEGER"));
    database.run("INSERT INTO t (a) VALUES (:a)", {1});
    CHECK(failure_of([&] {
              database.run("INSERT INTO t (a) VALUES (:a)", {1});
          }).what.find(engine_words("UNIQUE")) != std::string::npos);
    CHECK(failure_of([&] {
              database.run("INSERT INTO t VALUES (2, :b)", {"x"});
          }).what.find(engine_words("type")) != std::string::npos);
}

TEST_CASE("After close every use says so") {
    const StorePlace place;
    Database database = place.database();
    database.run("CREATE TABLE t (a INTEGER)");
    database.close();
    CHECK(failure_of([&] { database.run("SELECT 1"); }).what == "the store is closed");
    CHECK(failure_of([&] { static_cast<void>(database.count("SELECT 1")); }).fault == Fault::outside);
    CHECK(failure_of([&] { const Transaction late(database, Transaction::Purpose::write); }).what ==
          "the store is closed");
    database.close();
}

TEST_CASE("Closing within a transaction takes it back") {
    const StorePlace place;
    Database database = place.database();
    database.run("CREATE TABLE t (a INTEGER)");
    {
        const Transaction transaction(database, Transaction::Purpose::write);
        database.run("INSERT INTO t VALUES (1)");
        database.close();
    }
    Database again = place.database();
    CHECK(again.count("SELECT COUNT(*) FROM t") == 0);
}

TEST_CASE("A transaction happens whole or not at all") {
    const StorePlace place;
    Database database = place.database();
    database.run("CREATE TABLE t (a INTEGER)");
    {
        const Transaction dropped(database, Transaction::Purpose::write);
        database.run("INSERT INTO t VALUES (1)");
    }
    CHECK(database.count("SELECT COUNT(*) FROM t") == 0);
    {
        Transaction kept(database, Transaction::Purpose::write);
        database.run("INSERT INTO t VALUES (1)");
        kept.commit();
    }
    CHECK(database.count("SELECT COUNT(*) FROM t") == 1);
}

TEST_CASE("One writer at a time; readers go on and see one state") {
    const StorePlace place;
    Database first = place.database(impatient());
    Database second = place.database(impatient());
    first.run("CREATE TABLE t (a INTEGER)");

    const Transaction reading(second, Transaction::Purpose::read);
    CHECK(second.count("SELECT COUNT(*) FROM t") == 0);
    {
        Transaction writing(first, Transaction::Purpose::write);
        first.run("INSERT INTO t VALUES (1)");
        Database third = place.database(impatient());
        const Error busy = failure_of([&] { const Transaction other(third, Transaction::Purpose::write); });
        CHECK(busy.what.find("another program is writing to the store") == 0);
        CHECK(busy.mend == "try again when it is done");
        writing.commit();
    }
    CHECK(second.count("SELECT COUNT(*) FROM t") == 0);
    CHECK(first.count("SELECT COUNT(*) FROM t") == 1);
}

TEST_CASE("Paths may be odd", "[file]") {
    const TempFolder folder;
    for (const char* name :
         {"with blank", "grün – 绳", "a=b;c", "100%20 #1?mode=memory", "it's \"quoted\"", "&cache=shared"}) {
        const fs::path file = folder.path() / name / "x y.db";
        fs::create_directories(file.parent_path());
        {
            Database database(file);
            database.run("CREATE TABLE t (a INTEGER)");
        }
        CHECK(fs::is_regular_file(file));
        CHECK(Database(file).count("SELECT COUNT(*) FROM t") == 0);
    }
    // Nothing was made beside them.
    CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()) == 6);
}

TEST_CASE("What is no database is told in one line", "[file]") {
    const TempFolder folder;
    std::ofstream(folder.path() / "a.db") << std::string(5000, 'x');
    const Error damaged = failure_of([&] { const Database database(folder.path() / "a.db", impatient()); });
    CHECK(damaged.fault == Fault::outside);
    CHECK(damaged.what.find("the store's database is damaged") == 0);
    CHECK(failure_of([&] {
              const Database database(folder.path() / "none" / "a.db", impatient());
          }).what.find("the store cannot be opened") == 0);
}

}  // namespace frayhold::store
