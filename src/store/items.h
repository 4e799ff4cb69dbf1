// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/item.h"
#include "store/database.h"

namespace frayhold::store {

// Fields left empty do not narrow the search.
struct ItemSearch {
    std::string text{};  // words, each of which must begin a word of the item (see search.h)
    std::string maker{};
    std::string model{};
    std::string batch{};
    std::string kit{};
    std::string place{};
    std::optional<record::ItemStatus> status{};
    int limit = 0;  // 0: all
    int offset = 0;
};

void insert_item(Database& database, const record::Item& item);
// Writes every field but mark and parent, which stay for good.
void update_item(Database& database, const record::Item& item);

[[nodiscard]] std::optional<record::Item> find_item(const Database& database, const std::string& mark);
// By mark.
[[nodiscard]] std::vector<record::Item> search_items(const Database& database, const ItemSearch& search);
[[nodiscard]] std::vector<record::Item> all_items(const Database& database);
[[nodiscard]] std::vector<record::Item> parts_of(const Database& database, const std::string& mark);

}  // namespace frayhold::store
