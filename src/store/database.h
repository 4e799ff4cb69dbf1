// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "store/value.h"

namespace frayhold::store {

class Dialect;

// The one place where a database engine is spoken to. Statements name their values :a, :b, … in order of
// use. Every failure is a Failure (Fault::outside) with the statement and the engine's own words, and names
// the file or the server's address.
//
// How a file (SQLite) is kept:
// - Write-ahead log: readers go on while one process writes, which a bench with phones needs; one writer at a
//   time.
// - synchronous = FULL: each commit is on the disk before it is acknowledged, also when the power fails then.
//   NORMAL would be safe from corruption but may lose the last commits, and a hold that was acknowledged must
//   not be lost.
// - foreign_keys = ON, since the engine leaves them off by default.
// - A process that finds another one writing waits `busy_wait` for its turn.
//
// On a server (PostgreSQL) writers take turns by a lock of the store, so that both behave alike: one writer
// at a time, readers go on and see one state. A connection that was lost is made anew, but never within a
// transaction.
class Database {
  public:
    struct Options {
        std::chrono::milliseconds busy_wait{10'000};
    };

    // Opens the file; makes an empty one where there is none.
    explicit Database(const std::filesystem::path& file) : Database(file, Options{}) {}
    Database(const std::filesystem::path& file, const Options& options);
    // Connects to a server; the address is a URI of libpq, which looks for the password in PGPASSFILE.
    [[nodiscard]] static Database at_server(const std::string& address, const Options& options);
    // One that lives in memory only: to compare schemas with.
    [[nodiscard]] static Database in_memory();
    // A place on the same engine for a schema that is thrown away: see Dialect::scratch.
    [[nodiscard]] Database scratch() const;

    ~Database();
    Database(Database&&) noexcept;
    Database& operator=(Database&&) noexcept;

    // After this every use is a Failure (Fault::outside) that says so.
    void close();

    void run(const std::string& statement, const Values& values = {});
    void each(const std::string& statement, const Values& values,
              const std::function<void(Row&)>& take) const;

    // The first row, where there is one.
    template <class T>
    [[nodiscard]] std::optional<T> first(const std::string& statement, const Values& values,
                                         const std::function<T(Row&)>& read) const {
        std::optional<T> found;
        each(statement, values, [&](Row& row) {
            if (!found) found = read(row);
        });
        return found;
    }

    template <class T>
    [[nodiscard]] std::vector<T> all(const std::string& statement, const Values& values,
                                     const std::function<T(Row&)>& read) const {
        std::vector<T> list;
        each(statement, values, [&](Row& row) { list.push_back(read(row)); });
        return list;
    }

    // The whole number in the first column of the first row; 0 where it is null.
    [[nodiscard]] std::int64_t count(const std::string& statement, const Values& values = {}) const;

    // Copies the whole database into a new file by the engine's own means, as it is at one moment, while
    // others go on reading and writing. Of a file only. Failure (Fault::outside) where the file cannot be
    // written.
    void copy_to(const std::filesystem::path& file) const;

    [[nodiscard]] const Dialect& dialect() const { return *dialect_; }
    [[nodiscard]] bool is_on_server() const;
    [[nodiscard]] const std::string& name() const { return name_; }

    struct ChangedRow {
        std::string table;
        std::int64_t row = 0;  // the engine's own number of the row

        // As in units/quantity.h.
        auto operator<=>(const ChangedRow&) const = default;  // NOLINT(modernize-use-nullptr)
    };
    // The rows that were written, changed or deleted in the transaction that runs since this was last asked,
    // by table and row; those of the journal only where an earlier entry was changed.
    [[nodiscard]] std::vector<ChangedRow> take_changed_rows();

  private:
    friend class Transaction;
    struct Session;
    Database(std::unique_ptr<Session> session, const Dialect& dialect, std::string name);
    void set_up();
    void begin(const std::vector<std::string>& statements);
    void commit();
    void roll_back();
    [[nodiscard]] Session& session() const;

    std::unique_ptr<Session> session_;
    const Dialect* dialect_;
    std::string name_;
};

// Work that happens whole or not at all: rolled back unless committed. One at a time on a database.
class Transaction {
  public:
    enum class Purpose {
        write,  // takes its turn as the writer at once, so that what it reads stays true until it commits
        read,   // sees one state of the store throughout
    };

    Transaction(Database& database, Purpose purpose);
    ~Transaction();
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;

    // Seals the rows that were changed since the last journal entry (row_seal.h) and makes it all last.
    void commit();

  private:
    Database& database_;
    bool open_ = true;
};

// One state of the store for as long as it lives, for whoever only reads; no transaction may run meanwhile.
class Snapshot {
  public:
    explicit Snapshot(const Database& database);
    ~Snapshot();
    Snapshot(const Snapshot&) = delete;
    Snapshot& operator=(const Snapshot&) = delete;

  private:
    const Database& database_;
};

}  // namespace frayhold::store
