// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/maker.h"
#include "store/database.h"

namespace frayhold::store {

// The maker's book. A maker's name stays; the rest may change.
void insert_maker(Database& database, const record::Maker& maker);
void update_maker(Database& database, const record::Maker& maker);
[[nodiscard]] std::optional<record::Maker> find_maker(const Database& database, const std::string& name);
[[nodiscard]] std::vector<record::Maker> all_makers(const Database& database);

}  // namespace frayhold::store
