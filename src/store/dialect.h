// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <string>
#include <vector>

namespace frayhold::store {

class Database;

struct SchemaObject {
    std::string name;
    std::string statement;  // as the database keeps it

    bool operator==(const SchemaObject&) const = default;
};

// A row that refers to one that is not there.
struct BrokenReference {
    std::string table;
    std::string row;  // "row 7", "the row with hold = H-2026-0001"
    std::string parent;
};

// What SQLite and PostgreSQL say each in their own words. Every other statement of this folder is one text
// for both, written so that both take it: derived tables have names, truth is 0 or 1, nulls are not sorted.
class Dialect {
  public:
    virtual ~Dialect() = default;

    // ---- The schema ----

    // What must be there before the first table.
    [[nodiscard]] virtual std::vector<std::string> groundwork() const = 0;
    // Columns in the words of schema.cpp: TEXT, INTEGER (64 bits) and REAL (double precision).
    [[nodiscard]] virtual std::string columns(const std::string& words) const = 0;
    // A table that holds every column to its type.
    [[nodiscard]] virtual std::string table(const std::string& name, const std::string& columns) const = 0;
    // Makes the database itself refuse an event ("UPDATE OF state") on a table, in these words; `when` may be
    // empty, or say of the rows OLD and NEW when it is to be refused.
    [[nodiscard]] virtual std::string refuse(const std::string& name, const std::string& event,
                                             const std::string& table, const std::string& when,
                                             const std::string& words) const = 0;
    // Makes a statement follow an event on each row of a table; it may speak of the row as NEW.
    [[nodiscard]] virtual std::string follow(const std::string& name, const std::string& event,
                                             const std::string& table,
                                             const std::string& statement) const = 0;
    // A condition as the 0 or 1 of a column.
    [[nodiscard]] virtual std::string truth(const std::string& condition) const = 0;

    // Counts the tables called :name.
    [[nodiscard]] virtual std::string count_table() const = 0;
    // Counts all tables.
    [[nodiscard]] virtual std::string count_tables() const = 0;
    // The name and the text of every table, index, trigger and the like, by name.
    [[nodiscard]] virtual std::string list_schema() const = 0;
    // Makes room, within a transaction, for a schema that goes with it.
    [[nodiscard]] virtual std::vector<std::string> scratch() const = 0;

    // ---- Sessions and transactions ----

    [[nodiscard]] virtual std::vector<std::string> at_opening(std::chrono::milliseconds busy_wait) const = 0;
    [[nodiscard]] virtual std::vector<std::string> begin_reading() const = 0;
    [[nodiscard]] virtual std::vector<std::string> begin_writing() const = 0;

    // Give 1 where the lock was free. Of a server only: a folder has a file to lock.
    [[nodiscard]] virtual std::string take_post_lock() const = 0;
    [[nodiscard]] virtual std::string drop_post_lock() const = 0;

    // ---- Looking for damage ----

    // In the engine's own words; empty where it finds none.
    [[nodiscard]] virtual std::vector<std::string> damage(const Database& database) const = 0;
    [[nodiscard]] virtual std::vector<BrokenReference> broken_references(const Database& database) const = 0;
};

[[nodiscard]] const Dialect& sqlite_dialect();
[[nodiscard]] const Dialect& postgresql_dialect();

}  // namespace frayhold::store
