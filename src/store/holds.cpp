// SPDX-License-Identifier: Apache-2.0
#include "store/holds.h"

#include <algorithm>

#include "record/text.h"
#include "store/named_cell.h"
#include "store/search.h"

namespace frayhold::store {
namespace {

const std::string columns = "number, item, state, seen, opened_by, opened, batch_note";

record::Hold read_hold(Row& row) {
    record::Hold hold;
    hold.number = row.text();
    hold.item = row.text();
    hold.state = named(row.text(), record::hold_state_named);
    hold.seen = row.text();
    hold.opened_by = row.text();
    hold.opened = row.time();
    hold.batch_note = row.text();
    return hold;
}

QueuedHold read_queued(Row& row) {
    QueuedHold queued;
    queued.hold = read_hold(row);
    queued.maker = row.text();
    queued.model = row.text();
    queued.reply_due = row.date_or_none();
    queued.reply_to_read = row.boolean();
    return queued;
}

int year_of(Time time) {
    return static_cast<int>(day_of(time).year());
}

std::string upper_ascii(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; });
    return text;
}

// Narrows to a hold's number or to the words of its item.
std::string text_condition(const Database& database, const std::string& text, Values& values) {
    const std::string number = upper_ascii(record::trimmed(text));
    if (!find_hold(database, number)) return words_condition(database, "hold.item", text, values);
    values.emplace_back(number);
    return " AND number = :number";
}

}  // namespace

record::Hold insert_hold(Database& database, record::Hold hold) {
    const int year = year_of(hold.opened);
    const int turn =
        static_cast<int>(database.count("SELECT MAX(turn) FROM hold WHERE year = :year", {year})) + 1;
    hold.number = record::hold_number(year, turn);
    database.run(
        "INSERT INTO hold (" + columns +
            ", year, turn) VALUES (:number, :item, :state, :seen, :opened_by, :opened, :note, :year, :turn)",
        {hold.number, hold.item, record::name_of(hold.state), hold.seen, hold.opened_by, hold.opened,
         hold.batch_note, year, turn});
    return hold;
}

void set_hold_state(Database& database, const std::string& number, record::HoldState state) {
    database.run("UPDATE hold SET state = :state, reply_due = NULL WHERE number = :number",
                 {record::name_of(state), number});
}

void set_reply_due(Database& database, const std::string& number, const std::optional<Date>& due) {
    database.run("UPDATE hold SET reply_due = :due WHERE number = :number", {due, number});
}

std::optional<record::Hold> find_hold(const Database& database, const std::string& number) {
    return database.first<record::Hold>("SELECT " + columns + " FROM hold WHERE number = :number", {number},
                                        read_hold);
}

std::optional<record::Hold> running_hold(const Database& database, const std::string& mark) {
    return database.first<record::Hold>(
        "SELECT " + columns + " FROM hold WHERE item = :mark AND state <> 'verdict'", {mark}, read_hold);
}

std::vector<record::Hold> holds_of(const Database& database, const std::string& mark) {
    return database.all<record::Hold>(
        "SELECT " + columns + " FROM hold WHERE item = :mark ORDER BY opened, year, turn", {mark}, read_hold);
}

int count_holds(const Database& database, const std::string& text, record::HoldState state) {
    Values values{record::name_of(state)};
    const std::string condition = text_condition(database, text, values);
    return static_cast<int>(
        database.count("SELECT COUNT(*) FROM hold WHERE state = :state" + condition, values));
}

std::vector<QueuedHold> search_holds(const Database& database, const HoldSearch& search) {
    Values values;
    std::string condition = "1 = 1";
    if (search.state) {
        condition += " AND state = :state";
        values.emplace_back(record::name_of(*search.state));
    }
    if (search.running_only) condition += " AND state <> 'verdict'";
    condition += text_condition(database, search.text, values);
    // The queue's three parts one after the other: each walks an index in the order it is shown.
    const std::string overdue = " AND to_read = 0 AND reply_due < :today";
    const std::string the_rest = " AND to_read = 0 AND (reply_due IS NULL OR reply_due >= :today)";
    std::vector<QueuedHold> queue;
    int skip = search.limit > 0 ? search.offset : 0;
    for (const std::string& part : {std::string(" AND to_read = 1"), overdue, the_rest}) {
        Values which = values;
        if (part.find(":today") != std::string::npos) which.emplace_back(search.today);
        const std::string from = " FROM hold JOIN item i ON i.mark = hold.item WHERE " + condition + part;
        if (skip > 0) {
            const auto count = static_cast<int>(
                database.count("SELECT COUNT(*) FROM hold WHERE " + condition + part, which));
            if (skip >= count) {
                skip -= count;
                continue;
            }
        }
        const int wanted = search.limit - static_cast<int>(queue.size());
        if (search.limit > 0 && wanted == 0) break;
        which.push_back(limit_or_all(search.limit > 0 ? wanted : 0));
        which.emplace_back(skip);
        skip = 0;
        for (QueuedHold& hold :
             database.all<QueuedHold>("SELECT number, item, state, seen, opened_by, opened, batch_note, "
                                      "i.maker, i.model, reply_due, to_read" +
                                          from + " ORDER BY opened, year, turn LIMIT :limit OFFSET :offset",
                                      which, read_queued))
            queue.push_back(std::move(hold));
    }
    return queue;
}

}  // namespace frayhold::store
