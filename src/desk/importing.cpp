// SPDX-License-Identifier: Apache-2.0
#include "desk/importing.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "desk/inside.h"
#include "language/error_words.h"
#include "language/tr.h"
#include "record/csv.h"
#include "record/item_csv.h"
#include "record/json.h"
#include "record/text.h"
#include "store/items.h"

// Items from a file: which column is which field, what is refused and why, and all rows or none.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

[[noreturn]] void unusable(const std::string& what, const std::string& mend) {
    throw Failure(Fault::input, tr("the file"), what, mend);
}

std::vector<ImportColumn> columns_of(const record::CsvRow& header, const ColumnMap& named) {
    for (const auto& [heading, field] : named) {
        if (std::find(header.cells.begin(), header.cells.end(), heading) == header.cells.end())
            unusable(trf("it has no column called \"{}\"", record::as_plain_text(heading)),
                     tr("look at its first line"));
        const std::vector<std::string>& known = record::item_fields();
        if (!field.empty() && std::find(known.begin(), known.end(), field) == known.end())
            throw Failure(Fault::usage, trf("column {}", heading),
                          trf("an item has no field called \"{}\"", field),
                          trf("choose one of {}", fmt::to_string(fmt::join(known, ", "))));
    }
    std::vector<ImportColumn> columns;
    std::set<std::string> taken;
    for (const std::string& heading : header.cells) {
        const auto at = named.find(heading);
        const std::string field = at != named.end() ? at->second : record::field_for_heading(heading);
        if (!field.empty() && !taken.insert(field).second)
            unusable(trf("two of its columns stand for {}", field),
                     tr("say which one, and leave the other out"));
        columns.push_back({heading, field});
    }
    for (const char* needed : {"mark", "kind"})
        if (!taken.contains(needed))
            unusable(trf("none of its columns is the {} of an item", needed), tr("say which column it is"));
    return columns;
}

record::Item item_of(const record::CsvRow& row, const std::vector<ImportColumn>& columns) {
    if (row.cells.size() != columns.size())
        throw Failure(Fault::input, tr("row"),
                      trf("it has {} cells, and the first line has {}", row.cells.size(), columns.size()),
                      "check its commas and quotes");
    record::Item item;
    bool has_kind = false;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i].field.empty()) continue;
        need_allowed(record::set_field(item, columns[i].field, row.cells[i]));
        has_kind = has_kind || (columns[i].field == "kind" && !record::is_blank(row.cells[i]));
    }
    if (!has_kind)
        throw Failure(Fault::input, tr("kind"), "nothing is written here", "say what kind of item it is");
    need_allowed(record::check_item(item));
    return item;
}

std::string refused_as_csv(const ImportPlan& plan) {
    if (plan.refused.empty()) return "";
    std::vector<std::string> header{"line", "reason"};
    for (const ImportColumn& column : plan.columns) header.push_back(column.heading);
    std::string csv = record::csv_row(header);
    for (const RefusedRow& refused : plan.refused) {
        std::vector<std::string> cells{std::to_string(refused.line), refused.reason};
        cells.insert(cells.end(), refused.cells.begin(), refused.cells.end());
        csv += record::csv_row(cells);
    }
    return csv;
}

ImportPlan plan_for(const store::Database& database, const std::string& csv, const ColumnMap& named,
                    const std::function<void(record::Item&)>& complete) {
    const std::vector<record::CsvRow> rows = value_or_throw(record::parse_csv(csv));
    if (rows.empty()) unusable(tr("it is empty"), tr("its first line must name the columns"));
    ImportPlan plan;
    plan.columns = columns_of(rows.front(), named);
    std::set<std::string> marks;
    for (std::size_t i = 1; i < rows.size(); ++i) {
        try {
            record::Item item = item_of(rows[i], plan.columns);
            if (!marks.insert(item.mark).second)
                throw Failure(Fault::input, tr("mark"), "another row has this mark too", "give each its own");
            if (store::find_item(database, item.mark))
                throw Failure(Fault::input, tr("mark"), "it is in the register already", "leave the row out");
            complete(item);
            plan.items.push_back(std::move(item));
        } catch (const Failure& failure) {
            plan.refused.push_back({rows[i].line, rows[i].cells, error_words(failure.error())});
        }
    }
    plan.refused_csv = refused_as_csv(plan);
    return plan;
}

}  // namespace

ImportPlan Desk::preview_import(const std::string& csv, const ColumnMap& columns) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return plan_for(inside_->database(), csv, columns,
                    [&](record::Item& item) { inside_->take_makers_life(item); });
}

ImportPlan Desk::import_items(const std::string& csv, const ColumnMap& columns) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    ImportPlan plan = plan_for(inside_->database(), csv, columns,
                               [&](record::Item& item) { inside_->take_makers_life(item); });
    if (!plan.refused.empty()) return plan;
    for (const record::Item& item : plan.items) {
        store::insert_item(inside_->database(), item);
        inside_->tell_journal(now, "item.add", item.mark, record::as_json(item));
    }
    transaction.commit();
    plan.done = true;
    return plan;
}

}  // namespace frayhold::desk
