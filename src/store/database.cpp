// SPDX-License-Identifier: Apache-2.0
#include "store/database.h"

#include <fmt/format.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>
#include <sqlite3.h>

#include <algorithm>
#include <set>
#include <thread>

#include "store/row_seal.h"
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

// The columns of a statement's rows: where the engine puts the cells of the row it stands on. The engine's
// own row type is not used, since it takes every whole number for one of 32 bits.
class Columns {
  public:
    // After the statement is prepared.
    explicit Columns(soci::statement& statement) {
        const int count = statement.get_backend()->prepare_for_describe();
        for (int column = 1; column <= count; ++column) {
            soci::data_type type = soci::dt_string;
            std::string name;
            statement.get_backend()->describe_column(column, type, name);
            types_.push_back(type);
        }
        cells_.resize(types_.size());
        for (std::size_t i = 0; i < types_.size(); ++i) bind(statement, types_[i], cells_[i]);
    }

    [[nodiscard]] std::vector<Value::Kept> values() const {
        std::vector<Value::Kept> values;
        values.reserve(cells_.size());
        for (std::size_t i = 0; i < cells_.size(); ++i) values.push_back(value_of(types_[i], cells_[i]));
        return values;
    }

  private:
    static bool is_whole(soci::data_type type) {
        return type == soci::dt_integer || type == soci::dt_long_long || type == soci::dt_unsigned_long_long;
    }

    static void bind(soci::statement& statement, soci::data_type type, Bound& cell) {
        if (is_whole(type)) {
            statement.exchange(soci::into(cell.number, cell.indicator));
        } else if (type == soci::dt_double) {
            statement.exchange(soci::into(cell.real, cell.indicator));
        } else {
            statement.exchange(soci::into(cell.text, cell.indicator));
        }
    }

    static Value::Kept value_of(soci::data_type type, const Bound& cell) {
        if (cell.indicator == soci::i_null) return std::monostate{};
        if (is_whole(type)) return static_cast<std::int64_t>(cell.number);
        if (type == soci::dt_double) return cell.real;
        return cell.text;
    }

    std::vector<soci::data_type> types_;
    std::vector<Bound> cells_;
};

}  // namespace

struct Database::Session {
    explicit Session(const std::string& connection) : sql(soci::sqlite3, connection) {
        sqlite_api::sqlite3_update_hook(engine(), note_change, this);
    }

    [[nodiscard]] sqlite_api::sqlite3* engine() {
        return static_cast<soci::sqlite3_session_backend*>(sql.get_backend())->conn_;
    }

    // Called by the engine for each row as it is written, changed or deleted.
    static void note_change(void* self, int how, const char*, const char* table,
                            sqlite_api::sqlite3_int64 row) {
        auto& session = *static_cast<Session*>(self);
        const std::string name = table;
        const bool adds_entry = name == "journal" && how == SQLITE_INSERT;
        const bool in_transaction = sqlite_api::sqlite3_get_autocommit(session.engine()) == 0;
        if (in_transaction && !adds_entry) session.changed.insert({name, row});
    }

    // Two processes that make the same store at once may each find the other in the way, and the engine does
    // not wait for its turn when it changes how it keeps its journal.
    void use_write_ahead_log(const std::string& name, std::chrono::milliseconds patience) {
        const auto give_up = std::chrono::steady_clock::now() + patience;
        const std::string statement = "PRAGMA journal_mode = WAL";
        for (bool done = false; !done;) {
            try {
                sql << statement;
                done = true;
            } catch (const soci::sqlite3_soci_error& error) {
                const bool busy = (error.result() & 0xff) == SQLITE_BUSY;
                if (!busy || std::chrono::steady_clock::now() >= give_up) fail(name, statement, error);
                std::this_thread::sleep_for(std::chrono::milliseconds(5));
            }
        }
    }

    std::set<ChangedRow> changed;
    soci::session sql;
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
    session_->use_write_ahead_log(name_, options.busy_wait);
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
        prepared.alloc();
        for (std::size_t i = 0; i < values.size(); ++i) bind(prepared, values[i], bound[i]);
        prepared.prepare(statement);
        const Columns columns(prepared);
        prepared.define_and_bind();
        bool more = prepared.execute(true);
        while (more) {
            Row next(columns.values());
            take(next);
            more = prepared.fetch();
        }
    } catch (const soci::soci_error& error) {
        fail(name_, statement, error);
    }
}

std::vector<Database::ChangedRow> Database::take_changed_rows() {
    std::set<ChangedRow>& changed = session().changed;
    std::vector<ChangedRow> list(changed.begin(), changed.end());
    changed.clear();
    return list;
}

std::int64_t Database::count(const std::string& statement, const Values& values) const {
    std::int64_t result = 0;
    each(statement, values, [&](Row& row) { result = row.number_or_none().value_or(0); });
    return result;
}

void Database::copy_to(const std::filesystem::path& file) const {
    static_cast<void>(session());  // not where it is closed
    using Connection = std::unique_ptr<sqlite_api::sqlite3, int (*)(sqlite_api::sqlite3*)>;
    const auto demand = [](int code, const std::string& where) {
        if (code == SQLITE_OK) return;
        const Words words = words_for_code(code);
        throw Failure(Fault::outside, where,
                      fmt::format("{} (the database says \"{}\" to a copy)", words.what,
                                  sqlite_api::sqlite3_errstr(code)),
                      words.mend);
    };
    const auto open = [&](const std::string& path, int more) {
        sqlite_api::sqlite3* opened = nullptr;
        const int code =
            sqlite_api::sqlite3_open_v2(path.c_str(), &opened, SQLITE_OPEN_READWRITE | more, nullptr);
        Connection connection(opened, sqlite_api::sqlite3_close_v2);
        demand(code, path);
        return connection;
    };
    // A connection of its own to read by: what this one has open stays as it is.
    const Connection from = open(name_, 0);
    const Connection to = open(file.string(), SQLITE_OPEN_CREATE);
    sqlite_api::sqlite3_backup* backup =
        sqlite_api::sqlite3_backup_init(to.get(), "main", from.get(), "main");
    if (backup == nullptr) demand(sqlite_api::sqlite3_errcode(to.get()), file.string());
    // All pages in one step: in write-ahead mode it reads one state and keeps no writer waiting.
    constexpr int all_pages = -1;
    const int stepped = sqlite_api::sqlite3_backup_step(backup, all_pages);
    const int finished = sqlite_api::sqlite3_backup_finish(backup);
    if (stepped != SQLITE_DONE) demand(stepped, file.string());
    demand(finished, file.string());
}

Transaction::Transaction(Database& database, Purpose purpose) : database_(database) {
    static_cast<void>(database_.take_changed_rows());  // of one that was rolled back
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
    static_cast<void>(seal_changed_rows(database_));
    database_.run("COMMIT");
    open_ = false;
}

Snapshot::Snapshot(const Database& database) : database_(database) {
    database_.each("BEGIN", {}, [](Row&) {});
}

Snapshot::~Snapshot() {
    try {
        database_.each("ROLLBACK", {}, [](Row&) {});
    } catch (const Failure&) {
        // The store was closed, or the engine has given the snapshot up: either way it is over.
        return;
    }
}

}  // namespace frayhold::store
