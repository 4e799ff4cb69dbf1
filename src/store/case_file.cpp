// SPDX-License-Identifier: Apache-2.0
#include "store/case_file.h"

#include <algorithm>

#include "store/checks.h"
#include "store/correspondence.h"
#include "store/evidence.h"
#include "store/holds.h"
#include "store/items.h"
#include "store/journal.h"
#include "store/photo_marks.h"
#include "store/verdicts.h"

namespace frayhold::store {

std::optional<record::CaseFile> case_file(const Database& database, const std::string& number) {
    const std::optional<record::Hold> hold = find_hold(database, number);
    if (!hold) return std::nullopt;
    record::CaseFile file;
    file.hold = *hold;
    file.item = find_item(database, hold->item).value();  // a foreign key holds it
    file.findings = findings_of(database, number);
    file.photos = photos_of(database, number);
    file.marks = photo_marks_of(database, number);
    file.waived = waived_views_of(database, number);
    file.queries = queries_of(database, number);
    file.replies = replies_of(database, number);
    file.verdict = verdict_of(database, number);
    for (record::EarlierHold& other : earlier_holds(database, hold->item)) {
        if (other.hold.number == number) break;
        other.photos = photos_of(database, other.hold.number);
        file.earlier.push_back(std::move(other));
    }
    for (record::ItemCheck& check : checks_of_item(database, hold->item, 0))
        if (check.done && *check.done <= hold->opened) file.checks.push_back(std::move(check));
    std::reverse(file.checks.begin(), file.checks.end());
    file.journal = search_journal(database, {.subject = number});
    if (const auto last = last_journal_entry(database)) file.journal_head = last->hash;
    return file;
}

std::vector<record::EarlierHold> earlier_holds(const Database& database, const std::string& mark) {
    std::vector<record::EarlierHold> earlier;
    for (const record::Hold& hold : holds_of(database, mark))
        earlier.push_back({hold, findings_of(database, hold.number), verdict_of(database, hold.number), {}});
    return earlier;
}

}  // namespace frayhold::store
