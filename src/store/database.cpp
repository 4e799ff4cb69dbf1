// SPDX-License-Identifier: Apache-2.0
#include "store/database.h"

#include <fmt/format.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>
#include <sqlite3.h>

#include <algorithm>
#include <thread>

#include "units/error.h"

namespace frayhold::store {
namespace {

struct Words {
    std::string what;
    std::string mend;
};

// What an engine's result code means for the person at the desk.
Words words_for_code(int code) {
    switch (code & 0xff) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return {"another program is writing to the store", "try again when it is done"};
        case SQLITE_FULL:
            return {"the disk is full", "make room and try again"};
        case SQLITE_READONLY:
        case SQLITE_PERM:
            return {"the store cannot be written", "check who may write to its folder"};
        case SQLITE_CANTOPEN:
            return {"the store cannot be opened", "check its folder and who may write to it"};
        case SQLITE_IOERR:
            return {"the disk failed or is full", "check the disk and try again"};
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
            return {"the store's database is damaged", "restore the last backup"};
        default:
            return {"the store refused the change", "run verify, and report this if nothing is found"};
    }
}

// A statement on one line, as it stands in the words of an error.
std::string one_line(const std::string& statement) {
    std::string out;
    for (const char c : statement) {
        const bool blank = c == ' ' || c == '\n';
        if (!blank) {
            out += c;
        } else if (!out.empty() && out.back() != ' ') {
            out += ' ';
        }
    }
    return out;
}

[[noreturn]] void fail(const std::string& name, const std::string& statement, const soci::soci_error& error) {
    const auto* coded = dynamic_cast<const soci::sqlite3_soci_error*>(&error);
    const Words words = words_for_code(coded != nullptr ? coded->result() : SQLITE_ERROR);
    throw Failure(Fault::outside, name,
                  fmt::format("{} (the database says \"{}\" to \"{}\")", words.what,
                              error.get_error_message(), one_line(statement)),
                  words.mend);
}

// A URI, so that no sign of the path is taken for part of the connection's own syntax.
std::string file_uri(const std::filesystem::path& file) {
    std::string uri = "file:";
    for (const char c : std::filesystem::absolute(file).string()) {
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                           c == '/' || c == '.' || c == '-' || c == '_';
        uri += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
    return uri;
}

// A value and its null mark where the engine can point at them while a statement runs.
struct Bound {
    long long number = 0;
    double real = 0.0;
    std::string text;
    soci::indicator indicator = soci::i_ok;
};

void bind(soci::statement& statement, const Value& value, Bound& bound) {
    const Value::Kept& kept = value.kept();
    if (const auto* number = std::get_if<std::int64_t>(&kept)) {
        bound.number = *number;
        statement.exchange(soci::use(bound.number, bound.indicator));
    } else if (const auto* real = std::get_if<double>(&kept)) {
        bound.real = *real;
        statement.exchange(soci::use(bound.real, bound.indicator));
    } else {
        if (const auto* text = std::get_if<std::string>(&kept)) {
            bound.text = *text;
        } else {
            bound.indicator = soci::i_null;
        }
        statement.exchange(soci::use(bound.text, bound.indicator));
    }
}

std::vector<Value::Kept> cells_of(const soci::row& row) {
    std::vector<Value::Kept> cells;
    cells.reserve(row.size());
    for (std::size_t i = 0; i < row.size(); ++i) {
        if (row.get_indicator(i) == soci::i_null) {
            cells.emplace_back(std::monostate{});
            continue;
        }
        switch (row.get_properties(i).get_data_type()) {
            case soci::dt_integer:
                cells.emplace_back(std::int64_t{row.get<int>(i)});
                break;
            case soci::dt_long_long:
                cells.emplace_back(static_cast<std::int64_t>(row.get<long long>(i)));
                break;
            case soci::dt_double:
                cells.emplace_back(row.get<double>(i));
                break;
            default:
                cells.emplace_back(row.get<std::string>(i));
                break;
        }
    }
    return cells;
}

}  // namespace

struct Database::Session {
    explicit Session(const std::string& connection) : sql(soci::sqlite3, connection) {}

    mutable soci::session sql;
};

Database::Database(std::unique_ptr<Session> session, std::string name)
    : session_(std::move(session)), name_(std::move(name)) {}

Database::Database(const std::filesystem::path& file, const Options& options) : name_(file.string()) {
    try {
        session_ = std::make_unique<Session>("db=" + file_uri(file));
    } catch (const soci::soci_error& error) {
        fail(name_, "open", error);
    }
    run(fmt::format("PRAGMA busy_timeout = {}", options.busy_wait.count()));
    // Two processes that make the same store at once may each find the other in the way here, and the engine
    // does not wait for its turn when it changes the journal's mode.
    constexpr int tries = 50;
    for (int attempt = 1;; ++attempt) {
        try {
            run("PRAGMA journal_mode = WAL");
            break;
        } catch (const Failure&) {
            if (attempt == tries) throw;
            std::this_thread::sleep_for(std::max(options.busy_wait / tries, std::chrono::milliseconds(1)));
        }
    }
    run("PRAGMA synchronous = FULL");
    run("PRAGMA foreign_keys = ON");
}

Database Database::in_memory() {
    return Database(std::make_unique<Session>("db=:memory:"), "a database in memory");
}

Database::~Database() = default;
Database::Database(Database&&) noexcept = default;
Database& Database::operator=(Database&&) noexcept = default;

void Database::close() {
    session_.reset();
}

Database::Session& Database::session() const {
    if (!session_) throw Failure(Fault::outside, name_, "the store is closed", "open it again");
    return *session_;
}

void Database::run(const std::string& statement, const Values& values) {
    each(statement, values, [](Row&) {});
}

void Database::each(const std::string& statement, const Values& values,
                    const std::function<void(Row&)>& take) const {
    Session& open = session();
    try {
        soci::statement prepared(open.sql);
        std::vector<Bound> bound(values.size());
        soci::row row;
        prepared.alloc();
        prepared.exchange(soci::into(row));
        for (std::size_t i = 0; i < values.size(); ++i) bind(prepared, values[i], bound[i]);
        prepared.prepare(statement);
        prepared.define_and_bind();
        bool more = prepared.execute(true);
        while (more) {
            Row next(cells_of(row));
            take(next);
            more = prepared.fetch();
        }
    } catch (const soci::soci_error& error) {
        fail(name_, statement, error);
    }
}

std::int64_t Database::count(const std::string& statement, const Values& values) const {
    std::int64_t result = 0;
    each(statement, values, [&](Row& row) { result = row.number_or_none().value_or(0); });
    return result;
}

Transaction::Transaction(Database& database, Purpose purpose) : database_(database) {
    database_.run(purpose == Purpose::write ? "BEGIN IMMEDIATE" : "BEGIN");
}

Transaction::~Transaction() {
    if (!open_) return;
    try {
        database_.run("ROLLBACK");
    } catch (const Failure&) {
        // The engine has already rolled back, as it does when the disk is full, or the store is closed.
        open_ = false;
    }
}

void Transaction::commit() {
    database_.run("COMMIT");
    open_ = false;
}

}  // namespace frayhold::store
