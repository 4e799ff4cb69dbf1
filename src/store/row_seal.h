// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "store/database.h"

// What every row of the store held when it was last written, so that a change made behind the program's back
// shows. Each transaction adds one seal, or one for each of its journal entries: the rows it touched with the
// SHA-256 of each, chained to the seal before. Each journal entry names the last seal before it; so a journal
// head stands for every row of the store, not only for the journal.
//
// A row's SHA-256 is that of the JSON array of its cells in the order of their columns: null, numbers and
// texts. It covers the columns there were at that time: later ones are added behind them.
//
// Of a store in a file: in one on a server nothing is sealed, and its journal stands for itself alone.
//
// The table item_word is left out, since it is derived from the items, and so is the journal, which has its
// own chain, but for changes to entries that are written already (forget.h).
namespace frayhold::store {

struct SealedRow {
    std::string table;
    std::int64_t row = 0;
    int columns = 0;     // 0 where the row was deleted
    std::string sha256;  // empty where the row was deleted
};

struct RowSeal {
    std::int64_t number = 0;
    std::string rows;  // JSON: [["table",row,columns,"sha256"],…]
    std::string previous_hash;
    std::string hash;
};

// SHA-256 of the JSON array ["frayhold-rows-1",number,"rows","previous_hash"].
[[nodiscard]] std::string hash_of(const RowSeal& seal);

// Seals what changed since the last seal of this transaction; nothing to do where nothing did, or in a store
// of an older schema. Gives the hash of the last seal, or 64 zeros.
std::string seal_changed_rows(Database& database);

// Seals every row as it stands: for a store of an older schema.
void seal_all_rows(Database& database);

void each_row_seal(const Database& database, const std::function<void(const RowSeal&)>& take);

// The rows of one seal. Failure (Fault::outside) where they cannot be read.
[[nodiscard]] std::vector<SealedRow> rows_of(const RowSeal& seal);

// A row as it stands.
struct StandingRow {
    std::int64_t row = 0;
    std::string name;    // its first cell, for a person
    std::string sha256;  // over the columns asked for
};

// Every row of a table in its order; `columns` gives how many of them count for each row.
void each_standing_row(const Database& database, const std::string& table,
                       const std::function<int(std::int64_t)>& columns,
                       const std::function<void(const StandingRow&)>& take);

// The tables whose rows are sealed, by name.
[[nodiscard]] std::vector<std::string> sealed_tables(const Database& database);

}  // namespace frayhold::store
