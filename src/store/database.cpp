// SPDX-License-Identifier: Apache-2.0
#include "store/database.h"

#include <fmt/format.h>
#include <soci/postgresql/soci-postgresql.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>
#include <sqlite3.h>

#include <set>
#include <thread>

#include "language/tr.h"
#include "store/dialect.h"
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
            return {tr_later("another program is writing to the store"),
                    tr_later("try again when it is done")};
        case SQLITE_FULL:
            return {tr_later("the disk is full"), tr_later("make room and try again")};
        case SQLITE_READONLY:
        case SQLITE_PERM:
            return {tr_later("the store cannot be written"), tr_later("check who may write to its folder")};
        case SQLITE_CANTOPEN:
            return {tr_later("the store cannot be opened"),
                    tr_later("check its folder and who may write to it")};
        case SQLITE_IOERR:
            return {tr_later("the disk failed or is full"), tr_later("check the disk and try again")};
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
            return {tr_later("the store's database is damaged"), tr_later("restore the last backup")};
        default:
            return {tr_later("the store refused the change"),
                    tr_later("run verify, and report this if nothing is found")};
    }
}

// What a server's SQLSTATE means (PostgreSQL 15, appendix A).
Words words_for_state(const std::string& state) {
    const std::string kind = state.substr(0, 2);
    if (state == "55P03" || state == "40P01")
        return {tr_later("another program is writing to the store"), tr_later("try again when it is done")};
    if (state == "53100")
        return {tr_later("the server's disk is full"), tr_later("make room there and try again")};
    if (state == "25006")
        return {tr_later("the store cannot be written"), tr_later("look whether the server is a copy")};
    if (state == "42501")
        return {tr_later("this user may not do this"), tr_later("let the database's owner allow it")};
    if (kind == "XX" || kind == "58")
        return {tr_later("the store's database is damaged"), tr_later("restore the server's last backup")};
    if (kind == "08" || kind == "57" || kind == "  ")
        return {tr_later("the database server was lost"),
                tr_later("look whether it was done, then try again")};
    return {tr_later("the store refused the change"),
            tr_later("run verify, and report this if nothing is found")};
}

Words words_for(const soci::soci_error& error) {
    if (const auto* coded = dynamic_cast<const soci::sqlite3_soci_error*>(&error))
        return words_for_code(coded->result());
    if (const auto* stated = dynamic_cast<const soci::postgresql_soci_error*>(&error))
        return words_for_state(stated->sqlstate());
    return words_for_code(SQLITE_ERROR);
}

// A statement or an engine's words on one line, as they stand in the words of an error.
std::string one_line(const std::string& text) {
    std::string out;
    for (const char c : text) {
        const bool blank = c == ' ' || c == '\n';
        if (!blank) {
            out += c;
        } else if (!out.empty() && out.back() != ' ') {
            out += ' ';
        }
    }
    while (!out.empty() && out.back() == ' ') out.pop_back();
    return out;
}

[[noreturn]] void fail(const std::string& name, const std::string& statement, const soci::soci_error& error) {
    const Words words = words_for(error);
    throw Failure(Fault::outside, name,
                  trf("{} (the database says \"{}\" to \"{}\")", tr_word(words.what),
                      one_line(error.get_error_message()), one_line(statement)),
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

// A server's rows tell the size of their numbers.
std::vector<Value::Kept> values_of(const soci::row& row) {
    std::vector<Value::Kept> values;
    values.reserve(row.size());
    for (std::size_t i = 0; i < row.size(); ++i) {
        if (row.get_indicator(i) == soci::i_null) {
            values.emplace_back(std::monostate{});
            continue;
        }
        switch (row.get_properties(i).get_data_type()) {
            case soci::dt_integer:
                values.emplace_back(static_cast<std::int64_t>(row.get<int>(i)));
                break;
            case soci::dt_long_long:
                values.emplace_back(static_cast<std::int64_t>(row.get<long long>(i)));
                break;
            case soci::dt_double:
                values.emplace_back(row.get<double>(i));
                break;
            default:
                values.emplace_back(row.get<std::string>(i));
        }
    }
    return values;
}

void each_in_file(soci::session& sql, const std::string& statement, const Values& values,
                  const std::function<void(Row&)>& take) {
    soci::statement prepared(sql);
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
}

// In one round trip, planned for the very values.
void each_on_server(soci::session& sql, const std::string& statement, const Values& values,
                    const std::function<void(Row&)>& take) {
    soci::statement once(sql);
    std::vector<Bound> bound(values.size());
    soci::row row;
    once.alloc();
    for (std::size_t i = 0; i < values.size(); ++i) bind(once, values[i], bound[i]);
    once.exchange(soci::into(row));
    once.prepare(statement, soci::details::st_one_time_query);
    once.define_and_bind();
    bool more = once.execute(true);
    while (more) {
        Row next(values_of(row));
        take(next);
        more = once.fetch();
    }
}

// The server would cut a text short at a zero byte.
void need_no_zero_bytes(const Values& values) {
    for (const Value& value : values)
        if (const auto* text = std::get_if<std::string>(&value.kept());
            text != nullptr && text->find('\0') != std::string::npos)
            throw Failure(Fault::input, text->substr(0, text->find('\0')), "the text holds a zero byte",
                          "type it again");
}

}  // namespace

struct Database::Session {
    Session(const soci::backend_factory& engine, const std::string& connection) : sql(engine, connection) {}

    [[nodiscard]] PGconn* server() {
        return static_cast<soci::postgresql_session_backend*>(sql.get_backend())->conn_;
    }
    // Of a file.
    [[nodiscard]] sqlite_api::sqlite3* engine() {
        return static_cast<soci::sqlite3_session_backend*>(sql.get_backend())->conn_;
    }
    void note_changes() { sqlite_api::sqlite3_update_hook(engine(), note_change, this); }

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

    // Within a transaction the rest would be kept without its beginning.
    void reconnect_where_lost(const Dialect& dialect) {
        if (in_transaction || PQstatus(server()) != CONNECTION_BAD) return;
        sql.reconnect();
        for (const std::string& statement : dialect.at_opening(options.busy_wait))
            each_on_server(sql, statement, {}, [](Row&) {});
    }

    soci::session sql;
    std::set<ChangedRow> changed;  // of a file, in the transaction that runs
    Options options;
    bool in_transaction = false;
};

Database::Database(std::unique_ptr<Session> session, const Dialect& dialect, std::string name)
    : session_(std::move(session)), dialect_(&dialect), name_(std::move(name)) {}

Database::Database(const std::filesystem::path& file, const Options& options)
    : dialect_(&sqlite_dialect()), name_(file.string()) {
    try {
        session_ = std::make_unique<Session>(soci::sqlite3, "db=" + file_uri(file));
        session_->note_changes();
    } catch (const soci::soci_error& error) {
        fail(name_, "open", error);
    }
    session_->options = options;
    set_up();
    session_->use_write_ahead_log(name_, options.busy_wait);
}

Database Database::at_server(const std::string& address, const Options& options) {
    std::unique_ptr<Session> session;
    try {
        session = std::make_unique<Session>(soci::postgresql, address);
    } catch (const soci::soci_error& error) {
        throw Failure(
            Fault::outside, address,
            trf("the database server lets nobody in (it says \"{}\")", one_line(error.get_error_message())),
            "check the address, the network and the password file");
    }
    session->options = options;
    Database database(std::move(session), postgresql_dialect(), address);
    database.set_up();
    return database;
}

Database Database::in_memory() {
    return {std::make_unique<Session>(soci::sqlite3, "db=:memory:"), sqlite_dialect(),
            "a database in memory"};
}

Database Database::scratch() const {
    return is_on_server() ? at_server(name_, session().options) : in_memory();
}

bool Database::is_on_server() const {
    return dialect_ == &postgresql_dialect();
}

void Database::set_up() {
    for (const std::string& statement : dialect_->at_opening(session_->options.busy_wait)) run(statement);
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
    if (is_on_server()) need_no_zero_bytes(values);
    try {
        if (is_on_server()) {
            open.reconnect_where_lost(*dialect_);
            each_on_server(open.sql, statement, values, take);
        } else {
            each_in_file(open.sql, statement, values, take);
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
    if (is_on_server())
        throw Failure(Fault::usage, name_,
                      "the database server makes its own backups, and so does what keeps "
                      "the photos",
                      "back up both there, or use export");
    using Connection = std::unique_ptr<sqlite_api::sqlite3, int (*)(sqlite_api::sqlite3*)>;
    const auto demand = [](int code, const std::string& where) {
        if (code == SQLITE_OK) return;
        const Words words = words_for_code(code);
        throw Failure(Fault::outside, where,
                      trf("{} (the database says \"{}\" to a copy)", tr_word(words.what),
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

void Database::begin(const std::vector<std::string>& statements) {
    static_cast<void>(take_changed_rows());  // of one that was rolled back
    run(statements.front());
    session_->in_transaction = true;
    try {
        for (std::size_t i = 1; i < statements.size(); ++i) run(statements[i]);
    } catch (const Failure&) {
        roll_back();
        throw;
    }
}

void Database::commit() {
    // A server takes back what went wrong half-way, and would say so in no other way.
    if (is_on_server() && PQtransactionStatus(session().server()) != PQTRANS_INTRANS)
        throw Failure(Fault::outside, name_, "a part of the change failed, so that none of it was kept",
                      "try again");
    run("COMMIT");
    session_->in_transaction = false;
}

void Database::roll_back() {
    try {
        run("ROLLBACK");
    } catch (const Failure&) {
        // The engine has already rolled back, as it does when the disk is full, or the store is closed.
    }
    if (session_) session_->in_transaction = false;
}

Transaction::Transaction(Database& database, Purpose purpose) : database_(database) {
    const Dialect& in = database.dialect();
    database.begin(purpose == Purpose::write ? in.begin_writing() : in.begin_reading());
}

Transaction::~Transaction() {
    if (open_) database_.roll_back();
}

void Transaction::commit() {
    static_cast<void>(seal_changed_rows(database_));
    database_.commit();
    open_ = false;
}

Snapshot::Snapshot(const Database& database) : database_(database) {
    for (const std::string& statement : database.dialect().begin_reading())
        database_.each(statement, {}, [](Row&) {});
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
