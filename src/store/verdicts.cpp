// SPDX-License-Identifier: Apache-2.0
#include "store/verdicts.h"

#include "store/json_cell.h"
#include "store/named_cell.h"

namespace frayhold::store {
namespace {

record::Verdict read_verdict(Row& row) {
    record::Verdict verdict;
    verdict.kind = named(row.text(), record::verdict_kind_named);
    verdict.by = row.text();
    verdict.given = row.time();
    verdict.reason = row.text();
    verdict.limit = row.text();
    verdict.scrapped = row.length_or_none();
    verdict.witness = row.text();
    verdict.given_against = texts_from_cell(row.text());
    return verdict;
}

record::Part read_part(Row& row) {
    record::Part part;
    part.mark = row.text();
    part.length = Millimetres(row.real());
    return part;
}

}  // namespace

void insert_verdict(Database& database, const std::string& hold, const record::Verdict& verdict) {
    database.run(
        "INSERT INTO verdict (hold, kind, by_name, given, reason, limit_words, scrapped_mm, witness, "
        "given_against) VALUES (:hold, :kind, :by, :given, :reason, :limit, :scrapped, :witness, :against)",
        {hold, record::name_of(verdict.kind), verdict.by, verdict.given, verdict.reason, verdict.limit,
         verdict.scrapped, verdict.witness, texts_cell(verdict.given_against)});
    int turn = 0;
    for (const record::Part& part : verdict.parts)
        database.run("INSERT INTO part (hold, turn, mark, length_mm) VALUES (:hold, :turn, :mark, :length)",
                     {hold, ++turn, part.mark, part.length});
}

std::optional<record::Verdict> verdict_of(const Database& database, const std::string& hold) {
    std::optional<record::Verdict> verdict = database.first<record::Verdict>(
        "SELECT kind, by_name, given, reason, limit_words, scrapped_mm, witness, given_against FROM verdict "
        "WHERE hold "
        "= :hold",
        {hold}, read_verdict);
    if (verdict)
        verdict->parts = database.all<record::Part>(
            "SELECT mark, length_mm FROM part WHERE hold = :hold ORDER BY turn", {hold}, read_part);
    return verdict;
}

}  // namespace frayhold::store
