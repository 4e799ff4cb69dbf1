// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/item.h"
#include "record/verdict.h"
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

// Lives that end by a day or whose end is unknown, of items that are not retired.
struct LifeSearch {
    Date by{};
    int limit = 0;  // 0: all
    int offset = 0;
};

// An item destroyed, or what was cut out of it.
struct Destroyed {
    record::Item item;
    std::string hold;
    record::VerdictKind verdict = record::VerdictKind::retire_and_destroy;
    std::optional<Millimetres> scrapped;  // with cut_and_keep_parts
    std::string by;
    Time given{};
    std::string witness;
    std::string reason;
};

void insert_item(Database& database, const record::Item& item);
// Writes every field but mark and parent, which stay for good.
void update_item(Database& database, const record::Item& item);

// For a store that was made before the register knew when lives end.
void fill_life_dates(Database& database);

[[nodiscard]] std::optional<record::Item> find_item(const Database& database, const std::string& mark);
// By mark.
[[nodiscard]] std::vector<record::Item> search_items(const Database& database, const ItemSearch& search);
// Unknown ends first, then the earliest.
[[nodiscard]] std::vector<record::Item> search_lives(const Database& database, const LifeSearch& search);
// The latest first; 0: all.
[[nodiscard]] std::vector<Destroyed> destroyed_items(const Database& database, int limit, int offset);
[[nodiscard]] std::vector<record::Item> all_items(const Database& database);
[[nodiscard]] std::vector<record::Item> parts_of(const Database& database, const std::string& mark);

}  // namespace frayhold::store
