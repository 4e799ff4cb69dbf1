// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "record/case_file.h"
#include "record/check.h"
#include "record/life.h"
#include "units/date.h"

namespace frayhold::pack {

struct ItemRecordInput {
    record::Item item;
    record::LifeEnd life;
    std::optional<Date> check_due;           // empty while out of service
    int year = 0;                            // what happened in this year is shown; 0: everything
    std::vector<record::ItemCheck> checks;   // those that are done, in any order
    std::vector<record::EarlierHold> holds;  // all of them, oldest first
    std::vector<record::Item> parts;         // cut from it
    std::vector<record::JournalEntry> journal;
    std::string outfit;  // may be empty
    Time made{};
};

// The record of one item as pages to print and keep, under the headings that EN 365:2004, 4.4 asks of a
// record of equipment (from memory): what it is, maker or supplier, mark, serial and batch, dates made,
// bought and first used, user, and each check and repair with its date, details, person and the day the next
// is due. Room to sign by hand. The same input gives the same bytes.
[[nodiscard]] std::vector<std::byte> item_record_pdf(const ItemRecordInput& input);

}  // namespace frayhold::pack
