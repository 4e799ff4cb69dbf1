// SPDX-License-Identifier: Apache-2.0
#include "store/checks.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "record/json.h"
#include "store/json_cell.h"
#include "store/named_cell.h"

namespace frayhold::store {
namespace {

const std::string round_columns = "number, kit, place, due_by, started_by, started, ended, ended_by";
const std::string check_columns =
    "round, turn, item, state, begun, begun_by, result, words, against, done, done_by, next_due, hold";

record::CheckRound read_round(Row& row) {
    record::CheckRound round;
    round.number = row.text();
    round.kit = row.text();
    round.place = row.text();
    round.due_by = row.date_or_none();
    round.started_by = row.text();
    round.started = row.time();
    round.ended = row.time_or_none();
    round.ended_by = row.text_or_empty();
    return round;
}

record::ItemCheck read_check(Row& row) {
    record::ItemCheck check;
    check.round = row.text();
    check.turn = row.integer();
    check.item = row.text();
    check.state = named(row.text(), record::check_state_named);
    check.begun = row.time_or_none();
    check.begun_by = row.text_or_empty();
    if (const std::string result = row.text_or_empty(); !result.empty())
        check.result = named(result, record::check_result_named);
    check.words = row.text();
    check.against = texts_from_cell(row.text());
    check.done = row.time_or_none();
    check.done_by = row.text_or_empty();
    check.next_due = row.date_or_none();
    check.hold = row.text_or_empty();
    return check;
}

std::string advice_cell(const std::vector<record::AdviceEntry>& advice) {
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const record::AdviceEntry& entry : advice) list.push_back(record::as_json(entry));
    return list.dump();
}

std::vector<record::AdviceEntry> advice_from(const std::string& cell) {
    return from_json_cell<std::vector<record::AdviceEntry>>(cell, [](const nlohmann::json& list) {
        std::vector<record::AdviceEntry> advice;
        for (const nlohmann::json& entry : list) advice.push_back(record::advice_from_json(entry));
        return advice;
    });
}

void fill(const Database& database, record::ItemCheck& check) {
    const Values which{check.round, check.turn};
    const std::string of_check = " WHERE round = :round AND turn = :turn ORDER BY ";
    check.steps = database.all<record::StepDone>(
        "SELECT step, words, done_by, done FROM check_step" + of_check + "done", which, [](Row& row) {
            record::StepDone step;
            step.step = named(row.text(), record::check_step_named);
            step.words = row.text();
            step.done_by = row.text();
            step.done = row.time();
            return step;
        });
    // Times are kept to the second: what lies in the same one stands as on the sheet.
    std::sort(check.steps.begin(), check.steps.end(),
              [](const record::StepDone& a, const record::StepDone& b) {
                  return std::pair(a.done, a.step) < std::pair(b.done, b.step);
              });
    check.felt = database.all<record::Stretch>(
        "SELECT from_mm, to_mm FROM check_stretch" + of_check + "number", which, [](Row& row) {
            record::Stretch stretch;
            stretch.from_mm = row.real();
            stretch.to_mm = row.real();
            return stretch;
        });
    check.pauses = database.all<record::CheckPause>(
        "SELECT paused, paused_by, resumed, resumed_by FROM check_pause" + of_check + "number", which,
        [](Row& row) {
            record::CheckPause pause;
            pause.paused = row.time();
            pause.paused_by = row.text();
            pause.resumed = row.time_or_none();
            pause.resumed_by = row.text_or_empty();
            return pause;
        });
    check.findings = database.all<record::Finding>(
        "SELECT number, kind, kind_words, station_mm, side, words, found_by, found, advice FROM "
        "check_finding" +
            of_check + "number",
        which, [](Row& row) {
            record::Finding finding;
            finding.number = row.integer();
            finding.kind = row.text();
            finding.kind_words = row.text();
            finding.station = row.length_or_none();
            finding.side = row.text();
            finding.words = row.text();
            finding.found_by = row.text();
            finding.found = row.time();
            finding.advice = advice_from(row.text());
            return finding;
        });
}

std::int64_t next_number(const Database& database, const std::string& table, const record::ItemCheck& check) {
    return database.count("SELECT MAX(number) FROM " + table + " WHERE round = :round AND turn = :turn",
                          {check.round, check.turn}) +
           1;
}

}  // namespace

record::CheckRound insert_round(Database& database, record::CheckRound round) {
    const int year = static_cast<int>(day_of(round.started).year());
    const int turn =
        static_cast<int>(database.count("SELECT MAX(turn) FROM check_round WHERE year = :year", {year})) + 1;
    round.number = record::round_number(year, turn);
    database.run(
        "INSERT INTO check_round (number, kit, place, due_by, started_by, started, year, turn) VALUES "
        "(:number, "
        ":kit, :place, :due_by, :started_by, :started, :year, :turn)",
        {round.number, round.kit, round.place, round.due_by, round.started_by, round.started, year, turn});
    return round;
}

void end_round(Database& database, const record::CheckRound& round) {
    database.run(
        "UPDATE item_check SET state = 'left_out' WHERE round = :round AND state IN ('waiting', 'begun', "
        "'paused')",
        {round.number});
    database.run("UPDATE check_round SET ended = :ended, ended_by = :by WHERE number = :number",
                 {round.ended, round.ended_by, round.number});
}

std::optional<record::CheckRound> find_round(const Database& database, const std::string& number) {
    return database.first<record::CheckRound>(
        "SELECT " + round_columns + " FROM check_round WHERE number = :number", {number}, read_round);
}

std::vector<record::CheckRound> rounds(const Database& database, bool running_only, int limit) {
    return database.all<record::CheckRound>("SELECT " + round_columns + " FROM check_round" +
                                                (running_only ? " WHERE ended IS NULL" : "") +
                                                " ORDER BY year DESC, turn DESC LIMIT :limit",
                                            {limit_or_all(limit)}, read_round);
}

void insert_check(Database& database, const record::ItemCheck& check) {
    database.run(
        "INSERT INTO item_check (round, turn, item, state, words, against) VALUES (:round, :turn, :item, "
        ":state, "
        "'', '[]')",
        {check.round, check.turn, check.item, record::name_of(check.state)});
}

void update_check(Database& database, const record::ItemCheck& check) {
    database.run(
        "UPDATE item_check SET state = :state, begun = :begun, begun_by = :begun_by, result = :result, words "
        "= "
        ":words, against = :against, done = :done, done_by = :done_by, next_due = :next_due, hold = :hold "
        "WHERE "
        "round = :round AND turn = :turn",
        {record::name_of(check.state), check.begun, or_null(check.begun_by),
         check.result ? Value(record::name_of(*check.result)) : Value(nullptr), check.words,
         texts_cell(check.against), check.done, or_null(check.done_by), check.next_due, or_null(check.hold),
         check.round, check.turn});
}

void insert_step(Database& database, const record::ItemCheck& check, const record::StepDone& step) {
    database.run(
        "INSERT INTO check_step (round, turn, step, words, done_by, done) VALUES (:round, :turn, :step, "
        ":words, "
        ":by, :done)",
        {check.round, check.turn, record::name_of(step.step), step.words, step.done_by, step.done});
}

void insert_stretch(Database& database, const record::ItemCheck& check, const record::Stretch& stretch,
                    const std::string& who, Time now) {
    database.run(
        "INSERT INTO check_stretch (round, turn, number, from_mm, to_mm, done_by, done) VALUES (:round, "
        ":turn, "
        ":number, :from, :to, :by, :done)",
        {check.round, check.turn, next_number(database, "check_stretch", check), stretch.from_mm,
         stretch.to_mm, who, now});
}

void insert_pause(Database& database, const record::ItemCheck& check, const record::CheckPause& pause) {
    database.run(
        "INSERT INTO check_pause (round, turn, number, paused, paused_by) VALUES (:round, :turn, :number, "
        ":paused, :by)",
        {check.round, check.turn, next_number(database, "check_pause", check), pause.paused,
         pause.paused_by});
}

void end_pause(Database& database, const record::ItemCheck& check, const record::CheckPause& pause) {
    database.run(
        "UPDATE check_pause SET resumed = :resumed, resumed_by = :by WHERE round = :round AND turn = :turn "
        "AND "
        "resumed IS NULL",
        {pause.resumed, pause.resumed_by, check.round, check.turn});
}

record::Finding insert_check_finding(Database& database, const record::ItemCheck& check,
                                     record::Finding finding) {
    finding.number = static_cast<int>(next_number(database, "check_finding", check));
    database.run(
        "INSERT INTO check_finding (round, turn, number, kind, kind_words, station_mm, side, words, "
        "found_by, "
        "found, advice) VALUES (:round, :turn, :number, :kind, :kind_words, :station, :side, :words, :by, "
        ":found, "
        ":advice)",
        {check.round, check.turn, finding.number, finding.kind, finding.kind_words, finding.station,
         finding.side, finding.words, finding.found_by, finding.found, advice_cell(finding.advice)});
    return finding;
}

std::optional<record::ItemCheck> find_check(const Database& database, const std::string& round,
                                            const std::string& mark) {
    auto check = database.first<record::ItemCheck>(
        "SELECT " + check_columns + " FROM item_check WHERE round = :round AND item = :item", {round, mark},
        read_check);
    if (check) fill(database, *check);
    return check;
}

std::vector<record::ItemCheck> checks_of_round(const Database& database, const std::string& round) {
    return database.all<record::ItemCheck>(
        "SELECT " + check_columns + " FROM item_check WHERE round = :round ORDER BY turn", {round},
        read_check);
}

std::optional<std::string> running_round_of(const Database& database, const std::string& mark) {
    return database.first<std::string>(
        "SELECT round FROM item_check WHERE item = :item AND state IN ('waiting', 'begun', 'paused')", {mark},
        [](Row& row) { return row.text(); });
}

std::vector<record::ItemCheck> checks_of_item(const Database& database, const std::string& mark, int limit) {
    auto checks = database.all<record::ItemCheck>("SELECT " + check_columns +
                                                      " FROM item_check WHERE item = :item AND done IS NOT "
                                                      "NULL ORDER BY done DESC, round DESC LIMIT :limit",
                                                  {mark, limit_or_all(limit)}, read_check);
    for (record::ItemCheck& check : checks) fill(database, check);
    return checks;
}

std::vector<CheckInterval> check_intervals(const Database& database) {
    return database.all<CheckInterval>(
        "SELECT kind, use_rate, months FROM check_interval ORDER BY kind, use_rate", {}, [](Row& row) {
            CheckInterval interval;
            interval.kind = named(row.text(), record::kind_named);
            interval.use = named(row.text(), record::use_rate_named);
            interval.months = row.integer();
            return interval;
        });
}

void set_check_interval(Database& database, record::Kind kind, record::UseRate use,
                        std::optional<int> months) {
    database.run("DELETE FROM check_interval WHERE kind = :kind AND use_rate = :use",
                 {record::name_of(kind), record::name_of(use)});
    if (months)
        database.run("INSERT INTO check_interval (kind, use_rate, months) VALUES (:kind, :use, :months)",
                     {record::name_of(kind), record::name_of(use), *months});
}

int check_months(const Database& database, record::Kind kind, record::UseRate use) {
    std::optional<int> own;
    std::optional<int> every_use;
    std::optional<int> shortest;
    for (const CheckInterval& interval : check_intervals(database)) {
        if (interval.kind != kind) continue;
        if (interval.use == use) own = interval.months;
        if (interval.use == record::UseRate::unknown) every_use = interval.months;
        shortest = std::min(shortest.value_or(interval.months), interval.months);
    }
    if (use == record::UseRate::unknown && shortest) return *shortest;
    if (own) return *own;
    return every_use.value_or(record::usual_check_months(use));
}

void set_checked(Database& database, const std::string& mark, std::optional<Date> checked, Date due) {
    database.run("UPDATE item SET checked = :checked, check_due = :due WHERE mark = :mark",
                 {checked, due, mark});
}

std::optional<Date> checked_on(const Database& database, const std::string& mark) {
    return database
        .first<std::optional<Date>>("SELECT checked FROM item WHERE mark = :mark", {mark},
                                    [](Row& row) { return row.date_or_none(); })
        .value_or(std::nullopt);
}

std::optional<Date> check_due(const Database& database, const std::string& mark) {
    return database.first<Date>("SELECT check_due FROM item WHERE mark = :mark", {mark},
                                [](Row& row) { return row.date(); });
}

void refresh_due(Database& database, record::Kind kind) {
    struct Checked {
        std::string mark;
        record::UseRate use = record::UseRate::unknown;
        Date checked{};
    };
    const auto items = database.all<Checked>(
        "SELECT mark, use_rate, checked FROM item WHERE kind = :kind AND checked IS NOT NULL AND status <> "
        "'retired'",
        {record::name_of(kind)}, [](Row& row) {
            Checked item;
            item.mark = row.text();
            item.use = named(row.text(), record::use_rate_named);
            item.checked = row.date();
            return item;
        });
    for (const Checked& item : items)
        set_checked(database, item.mark, item.checked,
                    add_months(item.checked, check_months(database, kind, item.use)));
}

std::vector<DueItem> due_items(const Database& database, const DueSearch& search) {
    Values values{search.by};
    std::string statement =
        "SELECT mark, checked, check_due FROM item WHERE status IN ('in_service', 'in_service_with_limit') "
        "AND "
        "check_due <= :by";
    if (!search.kit.empty()) {
        statement += " AND kit = :kit";
        values.emplace_back(search.kit);
    }
    if (!search.place.empty()) {
        statement += " AND place = :place";
        values.emplace_back(search.place);
    }
    statement += " ORDER BY check_due, mark LIMIT :limit OFFSET :offset";
    values.push_back(limit_or_all(search.limit));
    values.emplace_back(search.offset);
    return database.all<DueItem>(statement, values, [](Row& row) {
        DueItem item;
        item.mark = row.text();
        item.checked = row.date_or_none();
        item.due = row.date();
        return item;
    });
}

}  // namespace frayhold::store
