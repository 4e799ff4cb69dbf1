// SPDX-License-Identifier: Apache-2.0
#include "store/row_seal.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "language/tr.h"
#include "photo/sha256.h"
#include "record/journal_entry.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

using Json = nlohmann::json;

std::string sha256_of(const Json& form) {
    const std::string text = form.dump(-1, ' ', false, Json::error_handler_t::replace);
    return photo::sha256_hex(std::as_bytes(std::span(text)));
}

Json cell_of(const Value::Kept& cell) {
    if (const auto* number = std::get_if<std::int64_t>(&cell)) return *number;
    if (const auto* real = std::get_if<double>(&cell)) return *real;
    if (const auto* text = std::get_if<std::string>(&cell)) return *text;
    return nullptr;
}

std::string sha256_of_cells(const std::vector<Value::Kept>& cells, std::size_t columns) {
    Json form = Json::array();
    for (std::size_t i = 0; i < std::min(columns, cells.size()); ++i) form.push_back(cell_of(cells[i]));
    return sha256_of(form);
}

bool is_sealed(const std::string& table) {
    return table != "row_seal" && table != "item_word" && table.rfind("sqlite_", 0) != 0;
}

// A server tells no program which rows its statements touched.
bool has_seals(const Database& database) {
    return !database.is_on_server() &&
           database.count("SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = 'row_seal'") >
               0;
}

RowSeal last_seal(const Database& database) {
    return database
        .first<RowSeal>("SELECT number, hash FROM row_seal ORDER BY number DESC LIMIT 1", {},
                        [](Row& row) {
                            RowSeal seal;
                            seal.number = row.number();
                            seal.hash = row.text();
                            return seal;
                        })
        .value_or(RowSeal{0, "", "", record::journal_origin()});
}

std::string add_seal(Database& database, const Json& rows) {
    const RowSeal last = last_seal(database);
    if (rows.empty()) return last.hash;
    RowSeal seal{last.number + 1, rows.dump(), last.hash, ""};
    seal.hash = hash_of(seal);
    database.run(
        "INSERT INTO row_seal (number, rows, previous_hash, hash) VALUES (:number, :rows, :previous, :hash)",
        {seal.number, seal.rows, seal.previous_hash, seal.hash});
    static_cast<void>(database.take_changed_rows());  // the seal itself
    return seal.hash;
}

}  // namespace

std::string hash_of(const RowSeal& seal) {
    return sha256_of({"frayhold-rows-1", seal.number, seal.rows, seal.previous_hash});
}

std::string seal_changed_rows(Database& database) {
    const std::vector<Database::ChangedRow> changed = database.take_changed_rows();
    if (!has_seals(database)) return "";
    Json rows = Json::array();
    for (const Database::ChangedRow& one : changed) {
        if (!is_sealed(one.table)) continue;
        std::size_t columns = 0;
        std::string sha256;
        database.each("SELECT * FROM " + one.table + " WHERE rowid = :row", {one.row}, [&](Row& row) {
            columns = row.cells().size();
            sha256 = sha256_of_cells(row.cells(), columns);
        });
        rows.push_back({one.table, one.row, columns, sha256});
    }
    return add_seal(database, rows);
}

void seal_all_rows(Database& database) {
    if (!has_seals(database)) return;
    Json rows = Json::array();
    for (const std::string& table : sealed_tables(database))
        database.each("SELECT rowid, * FROM " + table + " ORDER BY rowid", {}, [&](Row& row) {
            const std::int64_t number = row.number();
            const std::vector<Value::Kept> cells(row.cells().begin() + 1, row.cells().end());
            rows.push_back({table, number, cells.size(), sha256_of_cells(cells, cells.size())});
        });
    add_seal(database, rows);
}

void each_row_seal(const Database& database, const std::function<void(const RowSeal&)>& take) {
    database.each("SELECT number, rows, previous_hash, hash FROM row_seal ORDER BY number", {},
                  [&](Row& row) {
                      RowSeal seal;
                      seal.number = row.number();
                      seal.rows = row.text();
                      seal.previous_hash = row.text();
                      seal.hash = row.text();
                      take(seal);
                  });
}

std::vector<SealedRow> rows_of(const RowSeal& seal) {
    try {
        std::vector<SealedRow> rows;
        for (const Json& one : Json::parse(seal.rows))
            rows.push_back({one.at(0).get<std::string>(), one.at(1).get<std::int64_t>(), one.at(2).get<int>(),
                            one.at(3).get<std::string>()});
        return rows;
    } catch (const Json::exception&) {
        throw Failure(Fault::outside, trf("seal of rows {}", seal.number), "it cannot be read",
                      "restore the last sound backup");
    }
}

void each_standing_row(const Database& database, const std::string& table,
                       const std::function<int(std::int64_t)>& columns,
                       const std::function<void(const StandingRow&)>& take) {
    database.each("SELECT rowid, * FROM " + table + " ORDER BY rowid", {}, [&](Row& row) {
        StandingRow standing;
        standing.row = row.number();
        const std::vector<Value::Kept> cells(row.cells().begin() + 1, row.cells().end());
        if (!cells.empty())
            if (const auto* text = std::get_if<std::string>(&cells.front())) standing.name = *text;
        standing.sha256 = sha256_of_cells(cells, static_cast<std::size_t>(columns(standing.row)));
        take(standing);
    });
}

std::vector<std::string> sealed_tables(const Database& database) {
    std::vector<std::string> tables = database.all<std::string>(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'journal' ORDER BY name", {},
        [](Row& row) { return row.text(); });
    std::erase_if(tables, [](const std::string& table) { return !is_sealed(table); });
    return tables;
}

}  // namespace frayhold::store
