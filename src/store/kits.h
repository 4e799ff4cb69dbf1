// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "record/item.h"
#include "store/database.h"

namespace frayhold::store {

// How many items of a kind a kit must have in service.
struct KitNeed {
    record::Kind kind = record::Kind::rope_low_stretch;
    int count = 0;
};

// 0: no need of that kind.
void set_kit_need(Database& database, const std::string& kit, record::Kind kind, int count);
[[nodiscard]] std::vector<KitNeed> kit_needs(const Database& database, const std::string& kit);
// Every kit an item belongs to or that needs something, by name; limit 0: all.
[[nodiscard]] std::vector<std::string> kit_names(const Database& database, int limit, int offset);

}  // namespace frayhold::store
