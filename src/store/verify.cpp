// SPDX-License-Identifier: Apache-2.0
#include "store/verify.h"

#include <algorithm>
#include <map>
#include <set>

#include "language/error_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "store/dialect.h"
#include "store/items.h"
#include "store/journal.h"
#include "store/known_blobs.h"
#include "store/row_seal.h"
#include "store/schema.h"
#include "store/search.h"
#include "store/store.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

std::string restore() {
    return tr("restore the last sound backup; keep this store for whoever looks into it");
}

void check_schema(const Database& database, VerifyReport& report) {
    std::map<std::string, std::string> found;
    for (const SchemaObject& object : schema_objects(database)) found[object.name] = object.statement;
    for (const SchemaObject& expected : expected_schema(database)) {
        const auto at = found.find(expected.name);
        if (at == found.end()) {
            report.faults.push_back(
                {expected.name, tr("this table, index or trigger is missing"), restore()});
        } else if (at->second != expected.statement) {
            report.faults.push_back(
                {expected.name, tr("this table, index or trigger was altered"), restore()});
        }
        if (at != found.end()) found.erase(at);
    }
    for (const auto& [name, statement] : found)
        report.faults.push_back({name, tr("this table, index or trigger is none of the store's own"),
                                 tr("find out which program added it, and remove it")});
}

void check_structure(const Database& database, VerifyReport& report) {
    for (const std::string& words : database.dialect().damage(database))
        report.faults.push_back({database.name(), trf("the database says: {}", words), restore()});
    for (const BrokenReference& broken : database.dialect().broken_references(database))
        report.faults.push_back({trf("table {}", broken.table),
                                 trf("{} refers to a row of {} that is not there", broken.row, broken.parent),
                                 restore()});
}

std::string wrong_link(const record::JournalEntry& entry, std::int64_t number, const std::string& previous) {
    if (entry.number != number)
        return trf("the entry after {} has number {}: entries are missing", number - 1, entry.number);
    if (entry.previous_hash != previous)
        return tr("it does not follow the entry before it: one of the two was altered");
    if (record::hash_of(entry) != entry.hash || !record::fits_its_seals(entry))
        return tr("it was altered after it was written: its hash is another");
    return "";
}

// Only the first wrong entry is named: every later one follows from it.
void check_journal(const Database& database, const std::string& head, VerifyReport& report) {
    std::string previous = record::journal_origin();
    bool sound = true;
    const auto check = [&](const record::JournalEntry& entry) {
        ++report.journal_entries;
        if (const std::string wrong = wrong_link(entry, report.journal_entries, previous);
            sound && !wrong.empty()) {
            report.faults.push_back({trf("journal entry {}", entry.number), wrong, restore()});
            sound = false;
        }
        if (sound && !head.empty() && entry.hash == head) report.proved_up_to = entry.number;
        previous = entry.hash;
    };
    try {
        each_journal_entry(database, check);
    } catch (const Failure& failure) {
        report.faults.push_back({trf("journal entry {}", report.journal_entries + 1),
                                 trf("it cannot be read: {}", tr_recorded(failure.error().what)), restore()});
        sound = false;
    }
    report.journal_head = previous;
    if (head == record::journal_origin()) report.proved_up_to = 0;
    if (!head.empty() && !report.proved_up_to)
        report.faults.push_back(
            {trf("journal head {}", head),
             sound ? tr("no entry has this value: entries up to it are missing or were replaced")
                   : tr("the chain does not hold up to an entry with this value"),
             tr("compare it with the paper; then restore a backup made after that day, and "
                "keep this store for whoever looks into it")});
}

// What the seals say of each row, and of the chain they are.
class RowsBySeal {
  public:
    RowsBySeal(const Database& database, VerifyReport& report) : database_(database), report_(report) {}

    void check() {
        if (database_.is_on_server()) return;  // nothing is sealed there (row_seal.h)
        read_seals();
        check_entries();
        for (const std::string& table : sealed_tables(database_)) check_table(table);
        check_table("journal");
        for (const auto& [table, rows] : expected_)
            if (!rows.empty()) wrong(table, rows.begin()->first, "", tr("it is gone"));
    }

  private:
    using Rows = std::map<std::int64_t, SealedRow>;

    void read_seals() {
        std::string previous = record::journal_origin();
        std::int64_t number = 0;
        bool sound = true;
        each_row_seal(database_, [&](const RowSeal& seal) {
            ++number;
            if (sound &&
                (seal.number != number || seal.previous_hash != previous || hash_of(seal) != seal.hash)) {
                report_.faults.push_back({trf("seal of rows {}", seal.number),
                                          tr("it was altered, or one before it is missing"), restore()});
                sound = false;
            }
            previous = seal.hash;
            turn_of_[seal.hash] = number;
            if (!sound) return;
            for (const SealedRow& row : rows_of(seal)) {
                if (row.columns == 0)
                    expected_[row.table].erase(row.row);
                else
                    expected_[row.table][row.row] = row;
            }
        });
    }

    // Each entry names a seal, and none an earlier one than the entry before it.
    void check_entries() {
        std::int64_t last = 0;
        bool sound = true;
        each_journal_entry(database_, [&](const record::JournalEntry& entry) {
            if (!entry.is_sealed() || !sound) return;
            const auto at = turn_of_.find(entry.rows);
            const std::int64_t turn = entry.rows == record::journal_origin() ? 0
                                      : at == turn_of_.end()                 ? -1
                                                                             : at->second;
            if (turn < last) {
                report_.faults.push_back({trf("seal of rows before journal entry {}", entry.number),
                                          tr("it is missing: the seals were cut or replaced"), restore()});
                sound = false;
            }
            last = turn;
        });
    }

    // Only the first wrong row of a table is named.
    void check_table(const std::string& table) {
        const bool is_journal = table == "journal";
        Rows& rows = expected_[table];
        bool sound = true;
        const auto columns = [&](std::int64_t row) {
            const auto at = rows.find(row);
            return at == rows.end() ? 0 : at->second.columns;
        };
        each_standing_row(database_, table, columns, [&](const StandingRow& standing) {
            const auto at = rows.find(standing.row);
            if (at == rows.end()) {
                if (sound && !is_journal) {
                    wrong(table, standing.row, standing.name, tr("it was added by another program"));
                    sound = false;
                }
                return;
            }
            ++report_.sealed_rows;
            if (sound && at->second.sha256 != standing.sha256) {
                wrong(table, standing.row, standing.name, tr("it was altered after it was written"));
                sound = false;
            }
            if (is_journal) erased_.insert(standing.row);
            rows.erase(at);
        });
        if (is_journal) check_erased();
        if (!sound) rows.clear();
    }

    void check_erased() {
        bool sound = true;
        each_journal_entry(database_, [&](const record::JournalEntry& entry) {
            if (!sound || !entry.is_erased() || erased_.contains(entry.number)) return;
            report_.faults.push_back({trf("journal entry {}", entry.number),
                                      tr("its words were taken out by another program"), restore()});
            sound = false;
        });
    }

    void wrong(const std::string& table, std::int64_t row, const std::string& name, const std::string& what) {
        report_.faults.push_back({name.empty() ? trf("table {}, row {}", table, row)
                                               : trf("table {}, row {} ({})", table, row, name),
                                  what, restore()});
    }

    const Database& database_;
    VerifyReport& report_;
    std::map<std::string, Rows> expected_;
    std::map<std::string, std::int64_t> turn_of_;
    std::set<std::int64_t> erased_;
};

// The words items are found by follow from the items.
void check_words(const Database& database, VerifyReport& report) {
    std::map<std::string, std::set<std::string>> standing;
    database.each("SELECT mark, word FROM item_word", {}, [&](Row& row) {
        std::string mark = row.text();
        standing[std::move(mark)].insert(row.text());
    });
    for (const record::Item& item : all_items(database)) {
        const std::vector<std::string> words = index_words(item);
        if (standing[item.mark] == std::set<std::string>(words.begin(), words.end())) continue;
        report.faults.push_back(
            {trf("table item_word ({})", item.mark),
             tr("the words this item is found by are not those it has"),
             tr("edit any field of this item; if that does not help, restore the last sound backup")});
        return;
    }
}

void check_states(const Database& database, VerifyReport& report) {
    const auto look = [&](const std::string& statement, const auto& where, const std::string& what) {
        database.each(statement, {}, [&](Row& row) {
            report.faults.push_back({where(row.text()), what, restore()});
        });
    };
    const auto item = [](const std::string& mark) { return trf("item {}", mark); };
    const auto hold = [](const std::string& number) { return trf("hold {}", number); };
    look(
        "SELECT mark FROM item WHERE status = 'on_hold' AND NOT EXISTS (SELECT 1 FROM hold WHERE hold.item = "
        "item.mark AND hold.state <> 'verdict') ORDER BY mark",
        item, tr("it is on hold without a running hold"));
    look(
        "SELECT mark FROM item WHERE status <> 'on_hold' AND EXISTS (SELECT 1 FROM hold WHERE hold.item = "
        "item.mark "
        "AND hold.state <> 'verdict') ORDER BY mark",
        item, tr("it has a running hold and is not on hold"));
    look(
        "SELECT number FROM hold WHERE (state = 'verdict') <> EXISTS (SELECT 1 FROM verdict WHERE "
        "verdict.hold = "
        "hold.number) ORDER BY year, turn",
        hold, tr("its state and its verdict disagree"));
}

std::string words_for(Originals::Condition condition) {
    switch (condition) {
        case Originals::Condition::missing:
            return tr("the kept file is missing");
        case Originals::Condition::altered:
            return tr("the kept file was altered: its SHA-256 is another");
        case Originals::Condition::unreadable:
            return tr("the kept file cannot be read");
        case Originals::Condition::sound:
            break;
    }
    return "";
}

void check_kept_files(const Store& store, VerifyReport& report) {
    const std::vector<std::string> known = known_blobs(store.database());
    for (const std::string& sha256 : known) {
        const std::string wrong = words_for(store.blobs().condition(sha256));
        if (!wrong.empty())
            report.faults.push_back(
                {store.blobs().place_of(sha256), wrong,
                 tr("put this file back from a backup, or add the same photo or message again")});
    }
    report.kept_files = static_cast<std::int64_t>(known.size());
    for (const std::string& name : store.blobs().list())
        if (!std::binary_search(known.begin(), known.end(), name))
            report.notes.push_back(trf("{}: nothing refers to this file", name));
}

}  // namespace

VerifyReport verify(const Store& store, const std::string& head) {
    VerifyReport report;
    const auto step = [&](const std::string& where, const auto& check) {
        try {
            check();
        } catch (const Failure& failure) {
            report.faults.push_back({where, error_words(failure.error()), restore()});
        }
    };
    // Others may write meanwhile: every part is checked against one state.
    std::optional<Snapshot> snapshot;
    try {
        snapshot.emplace(store.database());
    } catch (const Failure& failure) {
        report.faults.push_back({store.database().name(), error_words(failure.error()), restore()});
        return report;
    }
    step(tr("schema"), [&] { check_schema(store.database(), report); });
    step(tr("database"), [&] { check_structure(store.database(), report); });
    step(tr("journal"), [&] { check_journal(store.database(), head, report); });
    step(tr("rows"), [&] { RowsBySeal(store.database(), report).check(); });
    step(tr("words of items"), [&] { check_words(store.database(), report); });
    step(tr("records"), [&] { check_states(store.database(), report); });
    step(tr("originals"), [&] { check_kept_files(store, report); });
    return report;
}

}  // namespace frayhold::store
