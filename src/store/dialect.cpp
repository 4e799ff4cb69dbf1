// SPDX-License-Identifier: Apache-2.0
#include "store/dialect.h"

#include <fmt/format.h>

#include <utility>

#include "language/tr.h"
#include "store/database.h"

namespace frayhold::store {
namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
    return text;
}

class SqliteDialect final : public Dialect {
  public:
    [[nodiscard]] std::vector<std::string> groundwork() const override { return {}; }

    [[nodiscard]] std::string columns(const std::string& words) const override { return words; }

    [[nodiscard]] std::string table(const std::string& name, const std::string& columns) const override {
        return "CREATE TABLE " + name + " (" + columns + ") STRICT";
    }

    [[nodiscard]] std::string refuse(const std::string& name, const std::string& event,
                                     const std::string& table, const std::string& when,
                                     const std::string& words) const override {
        return fmt::format("CREATE TRIGGER {} BEFORE {} ON {} {}BEGIN SELECT RAISE(ABORT, '{}'); END", name,
                           event, table, when.empty() ? "" : "WHEN " + when + " ", words);
    }

    [[nodiscard]] std::string follow(const std::string& name, const std::string& event,
                                     const std::string& table, const std::string& statement) const override {
        return fmt::format("CREATE TRIGGER {} AFTER {} ON {} BEGIN {}; END", name, event, table, statement);
    }

    [[nodiscard]] std::string truth(const std::string& condition) const override {
        return "(" + condition + ")";
    }

    [[nodiscard]] std::string count_table() const override {
        return "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = :name";
    }

    [[nodiscard]] std::string count_tables() const override {
        return "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table'";
    }

    [[nodiscard]] std::string list_schema() const override {
        return "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name";
    }

    [[nodiscard]] std::vector<std::string> scratch() const override { return {}; }

    [[nodiscard]] std::vector<std::string> at_opening(std::chrono::milliseconds busy_wait) const override {
        return {fmt::format("PRAGMA busy_timeout = {}", busy_wait.count()), "PRAGMA synchronous = FULL",
                "PRAGMA foreign_keys = ON"};
    }

    [[nodiscard]] std::vector<std::string> begin_reading() const override { return {"BEGIN"}; }
    [[nodiscard]] std::vector<std::string> begin_writing() const override { return {"BEGIN IMMEDIATE"}; }

    [[nodiscard]] std::string take_post_lock() const override { return "SELECT 0"; }
    [[nodiscard]] std::string drop_post_lock() const override { return "SELECT 0"; }

    [[nodiscard]] std::vector<std::string> damage(const Database& database) const override {
        std::vector<std::string> found;
        database.each("PRAGMA integrity_check(10)", {}, [&](Row& row) {
            if (std::string words = row.text(); words != "ok") found.push_back(std::move(words));
        });
        return found;
    }

    [[nodiscard]] std::vector<BrokenReference> broken_references(const Database& database) const override {
        return database.all<BrokenReference>("PRAGMA foreign_key_check", {}, [](Row& row) {
            BrokenReference broken;
            broken.table = row.text();
            broken.row = trf("row {}", row.number_or_none().value_or(0));
            broken.parent = row.text();
            return broken;
        });
    }
};

// The tables lie in the first schema of the connection's search_path, the server's "public" unless the
// address names another.
const std::string here = "(SELECT oid FROM pg_namespace WHERE nspname = current_schema())";

class PostgresqlDialect final : public Dialect {
  public:
    [[nodiscard]] std::vector<std::string> groundwork() const override {
        return {
            "CREATE FUNCTION refuse_rows() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0]; END $$",
            "CREATE FUNCTION instr(TEXT, TEXT) RETURNS INTEGER LANGUAGE sql IMMUTABLE AS "
            "$$ SELECT strpos($1, $2) $$",
            "CREATE FUNCTION json_valid(TEXT) RETURNS BOOLEAN LANGUAGE plpgsql IMMUTABLE AS "
            "$$ BEGIN PERFORM CAST($1 AS json); RETURN TRUE; EXCEPTION WHEN others THEN RETURN FALSE; END $$",
        };
    }

    // Text is sorted by its bytes, as SQLite does, whatever language the database was made for.
    [[nodiscard]] std::string columns(const std::string& words) const override {
        return replaced(replaced(replaced(words, "TEXT", "TEXT COLLATE \"C\""), "INTEGER", "BIGINT"), "REAL",
                        "DOUBLE PRECISION");
    }

    [[nodiscard]] std::string table(const std::string& name, const std::string& words) const override {
        return "CREATE TABLE " + name + " (" + columns(words) + ")";
    }

    [[nodiscard]] std::string refuse(const std::string& name, const std::string& event,
                                     const std::string& table, const std::string& when,
                                     const std::string& words) const override {
        const bool removal = event == "DELETE";
        return fmt::format(
            "CREATE TRIGGER {} BEFORE {} ON {} FOR EACH {} {}EXECUTE FUNCTION refuse_rows('{}')", name,
            removal ? "DELETE OR TRUNCATE" : event, table, removal ? "STATEMENT" : "ROW",
            when.empty() ? "" : "WHEN (" + when + ") ", words);
    }

    [[nodiscard]] std::string follow(const std::string& name, const std::string& event,
                                     const std::string& table, const std::string& statement) const override {
        return fmt::format(
            "CREATE FUNCTION {0}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {3}; RETURN NULL; END $$; "
            "CREATE TRIGGER {0} AFTER {1} ON {2} FOR EACH ROW EXECUTE FUNCTION {0}()",
            name, event, table, statement);
    }

    [[nodiscard]] std::string truth(const std::string& condition) const override {
        return "CASE WHEN " + condition + " THEN 1 ELSE 0 END";
    }

    [[nodiscard]] std::string count_table() const override { return count_tables() + " AND relname = :name"; }

    [[nodiscard]] std::string count_tables() const override {
        return "SELECT COUNT(*) FROM pg_class WHERE relkind = 'r' AND relnamespace = " + here;
    }

    // A trigger that was switched off, also one of the engine's own for foreign keys, differs from one in
    // force.
    [[nodiscard]] std::string list_schema() const override {
        return "SELECT name, words FROM ("
               "SELECT CAST(c.relname AS TEXT) AS name, string_agg(CAST(a.attname AS TEXT) || ' ' || "
               "format_type(a.atttypid, a.atttypmod) || COALESCE(' COLLATE ' || CAST(l.collname AS TEXT), "
               "'') "
               "|| CASE WHEN a.attnotnull THEN ' NOT NULL' ELSE '' END || COALESCE(' DEFAULT ' || "
               "pg_get_expr(d.adbin, d.adrelid), ''), ', ' ORDER BY a.attnum) AS words FROM pg_class c JOIN "
               "pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped LEFT JOIN "
               "pg_attrdef d ON d.adrelid = c.oid AND d.adnum = a.attnum LEFT JOIN pg_collation l ON l.oid = "
               "a.attcollation WHERE c.relkind IN ('r', 'p', 'v', 'm', 'f') AND c.relnamespace = " +
               here +
               " GROUP BY c.oid, c.relname UNION ALL "
               "SELECT CAST(c.relname AS TEXT) || ': ' || CAST(k.conname AS TEXT), "
               "pg_get_constraintdef(k.oid, "
               "true) FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid WHERE k.contype <> 't' AND "
               "k.connamespace = " +
               here +
               " UNION ALL SELECT CAST(c.relname AS TEXT), pg_get_indexdef(c.oid, 0, true) FROM pg_class c "
               "WHERE "
               "c.relkind = 'i' AND NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = c.oid AND "
               "k.conname = c.relname) AND c.relnamespace = " +
               here +
               " UNION ALL SELECT CAST(t.tgname AS TEXT), CASE WHEN t.tgisinternal THEN '' ELSE "
               "pg_get_triggerdef(t.oid, true) END || CASE WHEN t.tgenabled = 'O' THEN '' ELSE ' switched "
               "off' "
               "END FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid WHERE (NOT t.tgisinternal OR "
               "t.tgenabled <> 'O') AND c.relnamespace = " +
               here +
               " UNION ALL SELECT CAST(proname AS TEXT) || '()', prosrc FROM pg_proc WHERE pronamespace = " +
               here + ") AS listed ORDER BY name COLLATE \"C\", words COLLATE \"C\"";
    }

    [[nodiscard]] std::vector<std::string> scratch() const override {
        return {"CREATE SCHEMA frayhold_scratch", "SET LOCAL search_path TO frayhold_scratch"};
    }

    [[nodiscard]] std::vector<std::string> at_opening(std::chrono::milliseconds busy_wait) const override {
        return {"SET client_encoding TO 'UTF8'", "SET client_min_messages TO error",
                "SET standard_conforming_strings TO on", "SET synchronous_commit TO on",
                fmt::format("SET lock_timeout TO {}", busy_wait.count())};
    }

    [[nodiscard]] std::vector<std::string> begin_reading() const override {
        return {"BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"};
    }

    // The lock makes writers take turns, and by it each sees all that was committed before its turn.
    [[nodiscard]] std::vector<std::string> begin_writing() const override {
        return {
            "BEGIN ISOLATION LEVEL READ COMMITTED READ WRITE",
            "SELECT CAST(pg_advisory_xact_lock(hashtext('frayhold writer'), hashtext(current_schema())) AS "
            "TEXT)"};
    }

    [[nodiscard]] std::string take_post_lock() const override {
        return "SELECT CAST(pg_try_advisory_lock(hashtext('frayhold post'), hashtext(current_schema())) AS "
               "INTEGER)";
    }
    [[nodiscard]] std::string drop_post_lock() const override {
        return "SELECT CAST(pg_advisory_unlock(hashtext('frayhold post'), hashtext(current_schema())) AS "
               "INTEGER)";
    }

    // The server looks after its own pages.
    [[nodiscard]] std::vector<std::string> damage(const Database&) const override { return {}; }

    [[nodiscard]] std::vector<BrokenReference> broken_references(const Database& database) const override {
        struct Key {
            std::string table;
            std::string parent;
            std::string joined;
            std::string filled;
            std::string shown;
        };
        const std::vector<Key> keys = database.all<Key>(
            "SELECT CAST(c.relname AS TEXT), CAST(p.relname AS TEXT), string_agg(format('p.%I = c.%I', "
            "pa.attname, "
            "ca.attname), ' AND '), string_agg(format('c.%I IS NOT NULL', ca.attname), ' AND '), "
            "string_agg(format('''%s = '' || c.%I', ca.attname, ca.attname), ' || '', '' || ') FROM "
            "pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_class p ON p.oid = k.confrelid "
            "CROSS "
            "JOIN unnest(k.conkey, k.confkey) AS u (own, other) JOIN pg_attribute ca ON ca.attrelid = c.oid "
            "AND "
            "ca.attnum = u.own JOIN pg_attribute pa ON pa.attrelid = p.oid AND pa.attnum = u.other WHERE "
            "k.contype = 'f' AND k.connamespace = " +
                here + " GROUP BY k.oid, c.relname, p.relname ORDER BY c.relname, k.oid",
            {}, [](Row& row) {
                Key key;
                for (std::string* text : {&key.table, &key.parent, &key.joined, &key.filled, &key.shown})
                    *text = row.text();
                return key;
            });
        std::vector<BrokenReference> broken;
        for (const Key& key : keys)
            database.each(
                fmt::format("SELECT {} FROM {} c WHERE {} AND NOT EXISTS (SELECT 1 FROM {} p WHERE {})",
                            key.shown, key.table, key.filled, key.parent, key.joined),
                {}, [&](Row& row) {
                    broken.push_back({key.table, trf("the row with {}", row.text()), key.parent});
                });
        return broken;
    }
};

}  // namespace

const Dialect& sqlite_dialect() {
    static const SqliteDialect dialect;
    return dialect;
}

const Dialect& postgresql_dialect() {
    static const PostgresqlDialect dialect;
    return dialect;
}

}  // namespace frayhold::store
