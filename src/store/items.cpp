// SPDX-License-Identifier: Apache-2.0
#include "store/items.h"

#include <fmt/format.h>

#include <algorithm>

#include "record/life.h"
#include "store/named_cell.h"
#include "store/search.h"

namespace frayhold::store {
namespace {

const std::string columns =
    "mark, kind, serial, maker, model, batch, standard, material, length_mm, size_mm, sheath_colour, "
    "core_colour, "
    "made, bought, first_used, place, kit, years_from_made, years_from_first_use, parent, note, status, "
    "limit_words, supplier, used_by, use_rate, life_source";

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
    item.supplier = row.text();
    item.used_by = row.text();
    item.use = named(row.text(), record::use_rate_named);
    item.life.source = row.text();
    return item;
}

void equals(std::string& condition, Values& values, const std::string& column, const std::string& wanted) {
    if (wanted.empty()) return;
    condition += fmt::format(" AND {} = :{}", column, column);
    values.emplace_back(wanted);
}

}  // namespace

void insert_item(Database& database, const record::Item& item) {
    const record::LifeDates life = record::life_dates(item);
    database.run(
        "INSERT INTO item (" + columns +
            ", life_end, life_unknown) VALUES (:mark, :kind, :serial, :maker, :model, :batch, :standard, "
            ":material, :length, :size, "
            ":sheath, :core, :made, :bought, :first_used, :place, :kit, :from_made, :from_first_use, "
            ":parent, "
            ":note, :status, :limit, :supplier, :used_by, :use, :life_source, "
            ":life_end, :life_unknown)",
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
         item.limit,
         item.supplier,
         item.used_by,
         record::name_of(item.use),
         item.life.source,
         life.over_from,
         life.unknown});
    index_item(database, item);
}

void update_item(Database& database, const record::Item& item) {
    const record::LifeDates life = record::life_dates(item);
    database.run(
        "UPDATE item SET kind = :kind, serial = :serial, maker = :maker, model = :model, batch = :batch, "
        "standard = :standard, material = :material, length_mm = :length, size_mm = :size, sheath_colour = "
        ":sheath, "
        "core_colour = :core, made = :made, bought = :bought, first_used = :first_used, place = :place, kit "
        "= :kit, "
        "years_from_made = :from_made, years_from_first_use = :from_first_use, note = :note, status = "
        ":status, "
        "limit_words = :limit, supplier = :supplier, used_by = :used_by, use_rate = :use, life_source = "
        ":life_source, life_end = :life_end, life_unknown = :life_unknown WHERE mark = :mark",
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
         item.supplier,
         item.used_by,
         record::name_of(item.use),
         item.life.source,
         life.over_from,
         life.unknown,
         item.mark});
    index_item(database, item);
}

void fill_life_dates(Database& database) {
    const std::vector<record::Item> items = database.all<record::Item>(
        "SELECT mark, made, first_used, years_from_made, years_from_first_use FROM item", {}, [](Row& row) {
            record::Item item;
            item.mark = row.text();
            item.made = row.date_or_none();
            item.first_used = row.date_or_none();
            item.life.years_from_made = row.integer_or_none();
            item.life.years_from_first_use = row.integer_or_none();
            return item;
        });
    for (const record::Item& item : items) {
        const record::LifeDates life = record::life_dates(item);
        database.run("UPDATE item SET life_end = :end, life_unknown = :unknown WHERE mark = :mark",
                     {life.over_from, life.unknown, item.mark});
    }
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
    condition += words_condition(database, "item.mark", search.text, values);
    std::string statement = "SELECT " + columns + " FROM item WHERE " + condition + " ORDER BY mark";
    if (search.limit > 0) {
        statement += " LIMIT :limit OFFSET :offset";
        values.emplace_back(search.limit);
        values.emplace_back(search.offset);
    }
    return database.all<record::Item>(statement, values, read_item);
}

std::vector<record::Item> search_lives(const Database& database, const LifeSearch& search) {
    const std::string page = " LIMIT :limit OFFSET :offset";
    // Two walks, since the one index cannot hold both orders.
    std::vector<record::Item> found = database.all<record::Item>(
        "SELECT " + columns + " FROM item WHERE status <> 'retired' AND life_unknown = 1 ORDER BY mark" +
            page,
        {limit_or_all(search.limit), search.offset}, read_item);
    const int first = static_cast<int>(found.size());
    if (search.limit > 0 && first >= search.limit) return found;
    const int unknown = static_cast<int>(
        database.count("SELECT COUNT(*) FROM item WHERE status <> 'retired' AND life_unknown = 1"));
    for (record::Item& item : database.all<record::Item>(
             "SELECT " + columns +
                 " FROM item WHERE status <> 'retired' AND life_unknown = 0 AND life_end <= :by ORDER BY "
                 "life_end" +
                 page,
             {search.by, limit_or_all(search.limit > 0 ? search.limit - first : 0),
              std::max(0, search.offset - unknown)},
             read_item))
        found.push_back(std::move(item));
    return found;
}

std::vector<Destroyed> destroyed_items(const Database& database, int limit, int offset) {
    return database.all<Destroyed>(
        "SELECT " + columns +
            ", hold, verdict_kind, scrapped_mm, by_name, given, witness, reason FROM item JOIN (SELECT "
            "h.item, "
            "v.hold, v.kind AS verdict_kind, v.scrapped_mm, v.by_name, v.given, v.witness, v.reason FROM "
            "verdict "
            "v JOIN hold h ON h.number = v.hold WHERE v.kind IN ('retire_and_destroy', 'cut_and_keep_parts') "
            "ORDER BY v.given DESC, h.item LIMIT :limit OFFSET :offset) gone ON gone.item = item.mark "
            "ORDER BY given DESC, mark",
        {limit_or_all(limit), offset}, [](Row& row) {
            Destroyed gone;
            gone.item = read_item(row);
            gone.hold = row.text();
            gone.verdict = named(row.text(), record::verdict_kind_named);
            gone.scrapped = row.length_or_none();
            gone.by = row.text();
            gone.given = row.time();
            gone.witness = row.text();
            gone.reason = row.text();
            return gone;
        });
}

std::vector<record::Item> all_items(const Database& database) {
    return database.all<record::Item>("SELECT " + columns + " FROM item ORDER BY mark", {}, read_item);
}

std::vector<record::Item> parts_of(const Database& database, const std::string& mark) {
    return database.all<record::Item>("SELECT " + columns + " FROM item WHERE parent = :mark ORDER BY mark",
                                      {mark}, read_item);
}

}  // namespace frayhold::store
