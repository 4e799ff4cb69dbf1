// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>
#include <vector>

#include "record/item.h"

namespace frayhold::desk {

// Which field of an item a column of the file is: by the column's heading, the field's name or "" to leave it
// out. Headings that are not named here are matched by their words (record/item_csv.h).
using ColumnMap = std::map<std::string, std::string>;

struct ImportColumn {
    std::string heading;
    std::string field;  // empty: left out
};

struct RefusedRow {
    int line = 0;  // in the file, from 1
    std::vector<std::string> cells;
    std::string reason;
};

// What a file of items would do, or did.
struct ImportPlan {
    std::vector<ImportColumn> columns;  // in the file's order
    std::vector<record::Item> items;    // as they would come into the register
    std::vector<RefusedRow> refused;
    bool done = false;  // they are in the register: all of them, since with one refused row none comes in

    // The refused rows as CSV: the file's own columns and, before them, line and reason. Empty where none is.
    std::string refused_csv;
};

}  // namespace frayhold::desk
