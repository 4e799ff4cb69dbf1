// SPDX-License-Identifier: Apache-2.0
#include "store/search.h"

#include <fmt/format.h>

#include "record/text.h"

namespace frayhold::store {
namespace {

// Sorts after every text that begins with what stands before it: U+10FFFF.
constexpr const char* last_sign = "\xF4\x8F\xBF\xBF";

}  // namespace

std::vector<std::string> index_words(const record::Item& item) {
    return record::search_words(fmt::format("{} {} {} {} {} {} {}", item.mark, item.serial, item.maker,
                                            item.model, item.batch, item.kit, item.place));
}

void index_item(Database& database, const record::Item& item) {
    database.run("DELETE FROM item_word WHERE mark = :mark", {item.mark});
    for (const std::string& word : index_words(item))
        database.run("INSERT INTO item_word (word, mark) VALUES (:word, :mark)", {word, item.mark});
}

void index_all_items(Database& database) {
    // Only the columns there are at that time.
    const std::vector<record::Item> items = database.all<record::Item>(
        "SELECT mark, serial, maker, model, batch, kit, place FROM item ORDER BY mark", {}, [](Row& row) {
            record::Item item;
            for (std::string* text :
                 {&item.mark, &item.serial, &item.maker, &item.model, &item.batch, &item.kit, &item.place})
                *text = row.text();
            return item;
        });
    for (const record::Item& item : items) index_item(database, item);
}

std::string words_condition(const Database& database, const std::string& column, const std::string& text,
                            Values& values) {
    // Of a word that few items have, their marks are gathered first; of one that many have, each item is
    // asked in the order it is listed, since a page is full after few.
    constexpr int few = 2000;
    std::string condition;
    for (const std::string& word : record::search_words(text)) {
        const Values range{word, word + last_sign};
        const bool rare =
            database.count(
                "SELECT COUNT(*) FROM (SELECT 1 FROM item_word WHERE word >= :from AND word < :to "
                "LIMIT " +
                    std::to_string(few + 1) + ") AS first_few",
                range) <= few;
        const std::size_t n = values.size();
        const std::string within = fmt::format("w.word >= :word{} AND w.word < :word{}", n, n + 1);
        condition += rare
                         ? fmt::format(" AND {} IN (SELECT w.mark FROM item_word w WHERE {})", column, within)
                         : fmt::format(" AND EXISTS (SELECT 1 FROM item_word w WHERE w.mark = {} AND {})",
                                       column, within);
        values.insert(values.end(), range.begin(), range.end());
    }
    return condition;
}

}  // namespace frayhold::store
