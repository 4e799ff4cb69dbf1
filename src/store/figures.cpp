// SPDX-License-Identifier: Apache-2.0
#include "store/figures.h"

#include <algorithm>
#include <cstdlib>

#include "store/named_cell.h"

namespace frayhold::store {
namespace {

// Each finding with its item, of holds and of checks alike.
const std::string findings =
    "(SELECT f.kind_words, f.found, h.item FROM finding f JOIN hold h ON h.number = f.hold UNION ALL SELECT "
    "f.kind_words, f.found, c.item FROM check_finding f JOIN item_check c ON c.round = f.round AND c.turn = "
    "f.turn WHERE c.hold IS NULL)";

std::vector<Tally> tallies(const Database& database, const std::string& label, const std::string& order) {
    return database.all<Tally>("SELECT " + label + " AS label, COUNT(*) AS amount FROM " + findings +
                                   " f JOIN item i ON i.mark = f.item GROUP BY label ORDER BY " + order,
                               {}, [](Row& row) {
                                   Tally tally;
                                   tally.label = row.text();
                                   tally.count = row.integer();
                                   return tally;
                               });
}

std::vector<Tally> by_age(const Database& database) {
    // Whole years: a year less where the day of the year is not reached.
    std::vector<Tally> ages = tallies(
        database,
        "CASE WHEN i.made IS NULL THEN 'not recorded' ELSE CAST(CAST(substr(f.found, 1, 4) AS INTEGER) - "
        "CAST(substr(i.made, 1, 4) AS INTEGER) - CASE WHEN substr(f.found, 6, 5) < substr(i.made, 6, 5) THEN "
        "1 ELSE 0 END AS TEXT) END",
        "label");
    std::stable_sort(ages.begin(), ages.end(), [](const Tally& a, const Tally& b) {
        const auto years = [](const Tally& tally) {
            return tally.label == not_recorded ? 1000 : std::atoi(tally.label.c_str());
        };
        return years(a) < years(b);
    });
    return ages;
}

// From the first query sent to the first reply of a person.
std::vector<int> reply_days(const Database& database) {
    struct Pair {
        Time sent{};
        Time received{};
    };
    const auto pairs = database.all<Pair>(
        "SELECT q.sent, r.received FROM (SELECT hold, MIN(received) AS received FROM reply WHERE automatic = "
        "0 GROUP "
        "BY hold) r JOIN (SELECT hold, MIN(sent) AS sent FROM query WHERE sent IS NOT NULL GROUP BY hold) q "
        "ON "
        "q.hold = r.hold WHERE r.received >= q.sent",
        {}, [](Row& row) {
            Pair pair;
            pair.sent = parse_time(row.text()).value_or(Time{});
            pair.received = parse_time(row.text()).value_or(Time{});
            return pair;
        });
    std::vector<int> days;
    for (const Pair& pair : pairs)
        days.push_back(
            static_cast<int>(std::chrono::floor<std::chrono::days>(pair.received - pair.sent).count()));
    std::sort(days.begin(), days.end());
    return days;
}

std::vector<AnsweredVerdict> verdicts(const Database& database) {
    return database.all<AnsweredVerdict>(
        "SELECT answer, kind, COUNT(*) AS amount FROM (SELECT v.kind, (SELECT a.answer FROM answer a WHERE "
        "a.hold = "
        "v.hold ORDER BY a.turn DESC LIMIT 1) AS answer FROM verdict v) AS answered GROUP BY answer, kind "
        "ORDER BY "
        "COALESCE(answer, ''), kind",
        {}, [](Row& row) {
            AnsweredVerdict line;
            if (const std::string answer = row.text_or_empty(); !answer.empty())
                line.answer = named(answer, record::makers_answer_named);
            line.verdict = named(row.text(), record::verdict_kind_named);
            line.count = row.integer();
            return line;
        });
}

std::vector<Leaving> leaving(const Database& database, Date today, int months_ahead) {
    const Date end = add_months(today, months_ahead);
    return database.all<Leaving>(
        "SELECT substr(life_end, 1, 4), substr(life_end, 6, 2), kind, COUNT(*) FROM item WHERE status <> "
        "'retired' "
        "AND life_unknown = 0 AND life_end > :today AND life_end <= :end GROUP BY substr(life_end, 1, 4), "
        "substr(life_end, 6, 2), kind ORDER BY substr(life_end, 1, 4), substr(life_end, 6, 2), kind",
        {today, end}, [](Row& row) {
            Leaving line;
            line.year = std::atoi(row.text().c_str());
            line.month = static_cast<unsigned>(std::atoi(row.text().c_str()));
            line.kind = named(row.text(), record::kind_named);
            line.count = row.integer();
            return line;
        });
}

}  // namespace

Figures figures(const Database& database, Date today, int months_ahead) {
    const std::string most_first = "amount DESC, label";
    Figures out;
    out.findings_by_kind = tallies(database, "f.kind_words", most_first);
    out.findings_by_model =
        tallies(database,
                "CASE WHEN i.model = '' THEN 'not recorded' WHEN i.maker = '' THEN i.model ELSE "
                "i.model || ', ' || i.maker END",
                most_first);
    out.findings_by_place =
        tallies(database, "CASE WHEN i.place = '' THEN 'not recorded' ELSE i.place END", most_first);
    out.findings_by_age = by_age(database);
    out.reply_days = reply_days(database);
    out.verdicts = verdicts(database);
    out.life_over = static_cast<int>(database.count(
        "SELECT COUNT(*) FROM item WHERE status <> 'retired' AND life_end <= :today", {today}));
    out.life_unknown =
        static_cast<int>(database.count("SELECT COUNT(*) FROM item WHERE status <> 'retired' AND "
                                        "life_unknown = 1 AND (life_end IS NULL OR life_end > "
                                        ":today)",
                                        {today}));
    out.leaving = leaving(database, today, months_ahead);
    return out;
}

}  // namespace frayhold::store
