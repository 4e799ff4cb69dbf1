// SPDX-License-Identifier: Apache-2.0
#include "store/items.h"

#include <fmt/format.h>

#include "store/named_cell.h"
#include "store/search.h"

namespace frayhold::store {
namespace {

const std::string columns =
    "mark, kind, serial, maker, model, batch, standard, material, length_mm, size_mm, sheath_colour, "
    "core_colour, "
    "made, bought, first_used, place, kit, years_from_made, years_from_first_use, parent, note, status, "
    "limit_words";

record::Item read_item(Row& row) {
    record::Item item;
    item.mark = row.text();
    item.kind = named(row.text(), record::kind_named);
    item.serial = row.text();
    item.maker = row.text();
    item.model = row.text();
    item.batch = row.text();
    item.standard = row.text();
    item.material = row.text();
    item.length = row.length_or_none();
    item.diameter_or_width = row.length_or_none();
    item.sheath_colour = row.text();
    item.core_colour = row.text();
    item.made = row.date_or_none();
    item.bought = row.date_or_none();
    item.first_used = row.date_or_none();
    item.place = row.text();
    item.kit = row.text();
    item.life.years_from_made = row.integer_or_none();
    item.life.years_from_first_use = row.integer_or_none();
    item.parent = row.text_or_empty();
    item.note = row.text();
    item.status = named(row.text(), record::item_status_named);
    item.limit = row.text();
    return item;
}

Value or_null(const std::string& text) {
    return text.empty() ? Value(nullptr) : Value(text);
}

void equals(std::string& condition, Values& values, const std::string& column, const std::string& wanted) {
    if (wanted.empty()) return;
    condition += fmt::format(" AND {} = :{}", column, column);
    values.emplace_back(wanted);
}

}  // namespace

void insert_item(Database& database, const record::Item& item) {
    database.run(
        "INSERT INTO item (" + columns +
            ") VALUES (:mark, :kind, :serial, :maker, :model, :batch, :standard, :material, :length, :size, "
            ":sheath, :core, :made, :bought, :first_used, :place, :kit, :from_made, :from_first_use, "
            ":parent, "
            ":note, :status, :limit)",
        {item.mark,
         record::name_of(item.kind),
         item.serial,
         item.maker,
         item.model,
         item.batch,
         item.standard,
         item.material,
         item.length,
         item.diameter_or_width,
         item.sheath_colour,
         item.core_colour,
         item.made,
         item.bought,
         item.first_used,
         item.place,
         item.kit,
         item.life.years_from_made,
         item.life.years_from_first_use,
         or_null(item.parent),
         item.note,
         record::name_of(item.status),
         item.limit});
    index_item(database, item);
}

void update_item(Database& database, const record::Item& item) {
    database.run(
        "UPDATE item SET kind = :kind, serial = :serial, maker = :maker, model = :model, batch = :batch, "
        "standard = :standard, material = :material, length_mm = :length, size_mm = :size, sheath_colour = "
        ":sheath, "
        "core_colour = :core, made = :made, bought = :bought, first_used = :first_used, place = :place, kit "
        "= :kit, "
        "years_from_made = :from_made, years_from_first_use = :from_first_use, note = :note, status = "
        ":status, "
        "limit_words = :limit WHERE mark = :mark",
        {record::name_of(item.kind),
         item.serial,
         item.maker,
         item.model,
         item.batch,
         item.standard,
         item.material,
         item.length,
         item.diameter_or_width,
         item.sheath_colour,
         item.core_colour,
         item.made,
         item.bought,
         item.first_used,
         item.place,
         item.kit,
         item.life.years_from_made,
         item.life.years_from_first_use,
         item.note,
         record::name_of(item.status),
         item.limit,
         item.mark});
    index_item(database, item);
}

std::optional<record::Item> find_item(const Database& database, const std::string& mark) {
    return database.first<record::Item>("SELECT " + columns + " FROM item WHERE mark = :mark", {mark},
                                        read_item);
}

std::vector<record::Item> search_items(const Database& database, const ItemSearch& search) {
    Values values;
    std::string condition = "1 = 1";
    equals(condition, values, "maker", search.maker);
    equals(condition, values, "model", search.model);
    equals(condition, values, "batch", search.batch);
    equals(condition, values, "kit", search.kit);
    equals(condition, values, "place", search.place);
    if (search.status) equals(condition, values, "status", std::string(record::name_of(*search.status)));
    condition += words_condition("mark", search.text, values);
    std::string statement = "SELECT " + columns + " FROM item WHERE " + condition + " ORDER BY mark";
    if (search.limit > 0) {
        statement += " LIMIT :limit OFFSET :offset";
        values.emplace_back(search.limit);
        values.emplace_back(search.offset);
    }
    return database.all<record::Item>(statement, values, read_item);
}

std::vector<record::Item> all_items(const Database& database) {
    return database.all<record::Item>("SELECT " + columns + " FROM item ORDER BY mark", {}, read_item);
}

std::vector<record::Item> parts_of(const Database& database, const std::string& mark) {
    return database.all<record::Item>("SELECT " + columns + " FROM item WHERE parent = :mark ORDER BY mark",
                                      {mark}, read_item);
}

}  // namespace frayhold::store
