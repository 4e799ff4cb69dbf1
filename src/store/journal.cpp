// SPDX-License-Identifier: Apache-2.0
#include "store/journal.h"

#include <fmt/format.h>

#include <random>

#include "store/row_seal.h"

namespace frayhold::store {
namespace {

const std::string select_entries =
    "SELECT number, time, who, action, subject, details, previous_hash, hash, salt, who_seal, details_seal, "
    "rows_seal FROM journal";

record::JournalEntry read_entry(Row& row) {
    record::JournalEntry entry;
    entry.number = row.number();
    entry.time = row.time();
    entry.who = row.text();
    entry.action = row.text();
    entry.subject = row.text();
    entry.details = row.text();
    entry.previous_hash = row.text();
    entry.hash = row.text();
    entry.salt = row.text();
    entry.who_seal = row.text();
    entry.details_seal = row.text();
    entry.rows = row.text();
    return entry;
}

std::string random_salt() {
    std::random_device source;
    return fmt::format("{:08x}{:08x}{:08x}{:08x}", source(), source(), source(), source());
}

}  // namespace

record::JournalEntry append_journal(Database& database, record::JournalEntry entry) {
    const std::optional<record::JournalEntry> last = last_journal_entry(database);
    entry.number = last ? last->number + 1 : 1;
    entry.previous_hash = last ? last->hash : record::journal_origin();
    entry.salt = random_salt();
    entry.who_seal = record::seal_of(entry.salt, entry.who);
    entry.details_seal = record::seal_of(entry.salt, entry.details);
    entry.rows = seal_changed_rows(database);
    entry.hash = record::hash_of(entry);
    database.run(
        "INSERT INTO journal (number, time, who, action, subject, details, previous_hash, hash, salt, "
        "who_seal, details_seal, rows_seal) VALUES (:number, :time, :who, :action, :subject, :details, "
        ":previous, :hash, :salt, :who_seal, :details_seal, :rows)",
        {entry.number, entry.time, entry.who, entry.action, entry.subject, entry.details, entry.previous_hash,
         entry.hash, entry.salt, entry.who_seal, entry.details_seal, entry.rows});
    return entry;
}

std::vector<record::JournalEntry> search_journal(const Database& database, const JournalSearch& search) {
    Values values{search.after};
    std::string statement = select_entries + " WHERE number > :after";
    if (!search.subject.empty()) {
        statement += " AND subject = :subject";
        values.emplace_back(search.subject);
    }
    if (!search.action.empty()) {
        statement += " AND action = :action";
        values.emplace_back(search.action);
    }
    statement += " ORDER BY number";
    if (search.limit > 0) {
        statement += " LIMIT :limit";
        values.emplace_back(search.limit);
    }
    return database.all<record::JournalEntry>(statement, values, read_entry);
}

void each_journal_entry(const Database& database,
                        const std::function<void(const record::JournalEntry&)>& take) {
    // Page by page, since a server hands over all rows of an answer at once.
    constexpr std::size_t page = 10'000;
    std::vector<record::JournalEntry> entries;
    do {
        const std::int64_t after = entries.empty() ? 0 : entries.back().number;
        entries = search_journal(database, {.after = after, .limit = page});
        for (const record::JournalEntry& entry : entries) take(entry);
    } while (entries.size() == page);
}

std::optional<record::JournalEntry> last_journal_entry(const Database& database) {
    return database.first<record::JournalEntry>(select_entries + " ORDER BY number DESC LIMIT 1", {},
                                                read_entry);
}

}  // namespace frayhold::store
