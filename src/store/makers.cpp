// SPDX-License-Identifier: Apache-2.0
#include "store/makers.h"

#include "store/json_cell.h"

namespace frayhold::store {
namespace {

const std::string select_makers =
    "SELECT name, addresses, language, mail_limit_bytes, reply_days, note FROM maker ";

record::Maker read_maker(Row& row) {
    record::Maker maker;
    maker.name = row.text();
    maker.addresses = texts_from_cell(row.text());
    maker.language = row.text();
    maker.mail_limit_bytes = row.number_or_none();
    maker.reply_days = row.integer_or_none();
    maker.note = row.text();
    return maker;
}

}  // namespace

void insert_maker(Database& database, const record::Maker& maker) {
    database.run(
        "INSERT INTO maker (name, addresses, language, mail_limit_bytes, reply_days, note) VALUES (:name, "
        ":addresses, "
        ":language, :limit, :days, :note)",
        {maker.name, texts_cell(maker.addresses), maker.language, maker.mail_limit_bytes, maker.reply_days,
         maker.note});
}

void update_maker(Database& database, const record::Maker& maker) {
    database.run(
        "UPDATE maker SET addresses = :addresses, language = :language, mail_limit_bytes = :limit, "
        "reply_days = :days, "
        "note = :note WHERE name = :name",
        {texts_cell(maker.addresses), maker.language, maker.mail_limit_bytes, maker.reply_days, maker.note,
         maker.name});
}

std::optional<record::Maker> find_maker(const Database& database, const std::string& name) {
    return database.first<record::Maker>(select_makers + "WHERE name = :name", {name}, read_maker);
}

std::vector<record::Maker> all_makers(const Database& database) {
    return database.all<record::Maker>(select_makers + "ORDER BY name", {}, read_maker);
}

}  // namespace frayhold::store
