// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "record/item.h"
#include "store/database.h"

// Finding items by the beginnings of words: each word of an item's mark, serial, maker, model, batch, kit and
// place has a row, so that a search walks an index however large the store is.
namespace frayhold::store {

// The words an item is found by.
[[nodiscard]] std::vector<std::string> index_words(const record::Item& item);
void index_item(Database& database, const record::Item& item);

// For a store that was made before there was a search.
void index_all_items(Database& database);

// A condition "AND …" for each word of the text on a column of marks ("item.mark"), and its values at the end
// of `values`. Empty for a text without words.
[[nodiscard]] std::string words_condition(const Database& database, const std::string& column,
                                          const std::string& text, Values& values);

}  // namespace frayhold::store
