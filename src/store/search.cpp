// SPDX-License-Identifier: Apache-2.0
#include "store/search.h"

#include <fmt/format.h>

#include "record/text.h"
#include "store/items.h"

namespace frayhold::store {
namespace {

// Sorts after every text that begins with what stands before it: U+10FFFF.
constexpr const char* last_sign = "\xF4\x8F\xBF\xBF";

}  // namespace

void index_item(Database& database, const record::Item& item) {
    database.run("DELETE FROM item_word WHERE mark = :mark", {item.mark});
    const std::string all = fmt::format("{} {} {} {} {} {} {}", item.mark, item.serial, item.maker,
                                        item.model, item.batch, item.kit, item.place);
    for (const std::string& word : record::search_words(all))
        database.run("INSERT INTO item_word (word, mark) VALUES (:word, :mark)", {word, item.mark});
}

void index_all_items(Database& database) {
    for (const record::Item& item : all_items(database)) index_item(database, item);
}

std::string words_condition(const std::string& column, const std::string& text, Values& values) {
    std::string condition;
    for (const std::string& word : record::search_words(text)) {
        const std::size_t n = values.size();
        condition +=
            fmt::format(" AND {} IN (SELECT mark FROM item_word WHERE word >= :word{} AND word < :word{})",
                        column, n, n + 1);
        values.emplace_back(word);
        values.emplace_back(word + last_sign);
    }
    return condition;
}

}  // namespace frayhold::store
