// SPDX-License-Identifier: Apache-2.0
#include "store/forget.h"

#include <algorithm>
#include <set>

#include "store/journal.h"
#include "store/known_blobs.h"
#include "store/schema.h"
#include "store/search.h"

namespace frayhold::store {
namespace {

// Part of a word: an ASCII letter or digit, or any byte of a letter beyond ASCII.
bool is_of_word(char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= 0x80 || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

// What was recorded never changes: this is the one action that lifts the triggers which hold it so, within
// its transaction, and puts back the very same.
class TriggersLifted {
  public:
    explicit TriggersLifted(Database& database) : database_(database) {
        triggers_ = database.all<SchemaObject>(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name", {}, [](Row& row) {
                std::string trigger = row.text();
                return SchemaObject{std::move(trigger), row.text()};
            });
        for (const SchemaObject& trigger : triggers_) database_.run("DROP TRIGGER " + trigger.name);
    }
    void put_back() {
        for (const SchemaObject& trigger : triggers_) database_.run(trigger.statement);
    }

  private:
    Database& database_;
    std::vector<SchemaObject> triggers_;
};

// The columns of text that are no key and refer to none.
std::vector<std::string> free_texts(const Database& database, const std::string& table) {
    std::set<std::string> keys;
    database.each("SELECT \"from\" FROM pragma_foreign_key_list(:table)", {table},
                  [&](Row& row) { keys.insert(row.text()); });
    std::vector<std::string> columns =
        database.all<std::string>("SELECT name FROM pragma_table_info(:table) WHERE type = 'TEXT' AND pk = 0",
                                  {table}, [](Row& row) { return row.text(); });
    std::erase_if(columns, [&](const std::string& column) { return keys.contains(column); });
    return columns;
}

std::int64_t replace_in(Database& database, const std::string& table, const std::string& column,
                        const std::string& name, const std::string& instead) {
    struct Changed {
        std::int64_t row = 0;
        std::string text;
    };
    std::vector<Changed> changed;
    database.each("SELECT rowid, " + column + " FROM " + table + " WHERE instr(" + column + ", :name) > 0",
                  {name}, [&](Row& row) {
                      Changed one{row.number(), row.text()};
                      const std::string text = without_name(one.text, name, instead);
                      if (text != one.text) changed.push_back({one.row, text});
                  });
    for (const Changed& one : changed)
        database.run("UPDATE " + table + " SET " + column + " = :text WHERE rowid = :row",
                     {one.text, one.row});
    return static_cast<std::int64_t>(changed.size());
}

void forget_in_journal(Database& database, const std::string& name, Forgotten& forgotten) {
    std::vector<record::JournalEntry> changed;
    each_journal_entry(database, [&](const record::JournalEntry& entry) {
        record::JournalEntry without = entry;
        without.who = without_name(entry.who, name, forgotten.instead);
        without.details = without_name(entry.details, name, forgotten.instead);
        if (without == entry) return;
        if (entry.is_sealed())
            changed.push_back(std::move(without));
        else
            ++forgotten.entries_kept;
    });
    for (const record::JournalEntry& entry : changed) {
        database.run("UPDATE journal SET who = :who, details = :details, salt = '' WHERE number = :number",
                     {entry.who, entry.details, entry.number});
        forgotten.entries.push_back(entry.number);
    }
    forgotten.rows += static_cast<std::int64_t>(changed.size());
}

std::vector<std::string> files_with(const Store& store, const std::string& name) {
    std::vector<std::string> found;
    for (const std::string& sha256 : known_blobs(store.database())) {
        const std::vector<std::byte> bytes = store.blobs().read(sha256);
        const auto wanted = std::as_bytes(std::span(name));
        if (std::search(bytes.begin(), bytes.end(), wanted.begin(), wanted.end()) != bytes.end())
            found.push_back(sha256);
    }
    return found;
}

}  // namespace

std::string without_name(const std::string& text, const std::string& name, const std::string& instead) {
    std::string out;
    std::size_t from = 0;
    for (std::size_t at = text.find(name); at != std::string::npos && !name.empty();
         at = text.find(name, at + 1)) {
        const std::size_t end = at + name.size();
        const bool whole =
            (at == 0 || !is_of_word(text[at - 1])) && (end == text.size() || !is_of_word(text[end]));
        if (!whole || at < from) continue;
        out.append(text, from, at - from).append(instead);
        from = end;
    }
    return out.append(text, from);
}

Forgotten forget_name(Store& store, const std::string& name, const std::string& instead) {
    Database& database = store.database();
    Forgotten forgotten;
    forgotten.instead = instead;
    TriggersLifted lifted(database);
    const std::vector<std::string> tables = database.all<std::string>(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT IN "
        "('journal', 'row_seal', 'item_word') ORDER BY name",
        {}, [](Row& row) { return row.text(); });
    for (const std::string& table : tables)
        for (const std::string& column : free_texts(database, table)) {
            const std::int64_t changed = replace_in(database, table, column, name, instead);
            forgotten.rows += changed;
            if (table == "item" && changed > 0) index_all_items(database);
        }
    forget_in_journal(database, name, forgotten);
    lifted.put_back();
    forgotten.kept_files = files_with(store, name);
    return forgotten;
}

void overwrite_what_goes(Database& database) {
    database.run("PRAGMA secure_delete = ON");
}

void empty_the_log(Database& database) {
    database.run("PRAGMA wal_checkpoint(TRUNCATE)");
}

}  // namespace frayhold::store
