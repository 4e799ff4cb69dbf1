// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "fuzz/demand.h"
#include "record/csv.h"
#include "record/item_csv.h"

namespace frayhold::fuzz {

void read_csv(Bytes bytes) {
    const std::string text = text_of(bytes);
    const auto rows = record::parse_csv(text);
    if (!rows) return demand_words(rows.error());
    std::string again;
    for (const record::CsvRow& row : *rows) again += record::csv_row(row.cells);
    const auto twice = record::parse_csv(again);
    demand(twice.has_value() && twice->size() == rows->size(), "what is written can be read");
    for (std::size_t i = 0; i < rows->size(); ++i)
        demand((*twice)[i].cells == (*rows)[i].cells, "what is read again is what was written");
    if (rows->size() < 2) return;
    record::Item item;
    const std::vector<std::string>& heading = rows->front().cells;
    for (std::size_t i = 0; i < std::min(heading.size(), (*rows)[1].cells.size()); ++i) {
        const std::string field = record::field_for_heading(heading[i]);
        if (field.empty()) continue;
        if (const auto set = record::set_field(item, field, (*rows)[1].cells[i]); !set)
            demand_words(set.error());
    }
}

}  // namespace frayhold::fuzz
