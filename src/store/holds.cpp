// SPDX-License-Identifier: Apache-2.0
#include "store/holds.h"

#include <fmt/format.h>

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
    return static_cast<int>(Date(std::chrono::floor<std::chrono::days>(time)).year());
}

std::string upper_ascii(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; });
    return text;
}

// Narrows to a hold's number or to the words of its item.
std::string text_condition(const std::string& given, Values& values) {
    const std::string text = record::trimmed(given);
    if (text.empty()) return "";
    values.emplace_back(upper_ascii(text));
    return " AND (number = :text OR (1 = 1" + words_condition("item", text, values) + "))";
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
    const std::string condition = text_condition(text, values);
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
    condition += text_condition(search.text, values);
    values.emplace_back(search.today);
    std::string statement =
        "SELECT h.number, h.item, h.state, h.seen, h.opened_by, h.opened, h.batch_note, i.maker, i.model, "
        "h.reply_due, h.to_read FROM (SELECT number, item, state, seen, opened_by, opened, batch_note, "
        "reply_due, year, "
        "turn, (state IN ('asked', 'answered') AND EXISTS (SELECT 1 FROM reply r WHERE r.hold = hold.number "
        "AND "
        "r.automatic = 0 AND NOT EXISTS (SELECT 1 FROM answer a WHERE a.hold = r.hold AND a.reply = "
        "r.number))) "
        "AS to_read FROM hold WHERE " +
        condition +
        " ORDER BY to_read DESC, (reply_due IS NOT NULL AND reply_due < :today) DESC, opened, year, turn";
    if (search.limit > 0) {
        statement += " LIMIT :limit OFFSET :offset";
        values.emplace_back(search.limit);
        values.emplace_back(search.offset);
    }
    // The order of the inner rows is given again, since an outer query need not keep it.
    values.emplace_back(search.today);
    statement +=
        ") h JOIN item i ON i.mark = h.item ORDER BY h.to_read DESC, "
        "(h.reply_due IS NOT NULL AND h.reply_due < :today_again) DESC, h.opened, h.year, h.turn";
    return database.all<QueuedHold>(statement, values, read_queued);
}

}  // namespace frayhold::store
