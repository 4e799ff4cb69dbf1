// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/case_file.h"
#include "store/database.h"

namespace frayhold::store {

// Everything recorded of a hold; empty where there is no such hold. To be read within one transaction.
[[nodiscard]] std::optional<record::CaseFile> case_file(const Database& database, const std::string& hold);

// The holds of an item with what was found and decided, oldest first.
[[nodiscard]] std::vector<record::EarlierHold> earlier_holds(const Database& database,
                                                             const std::string& mark);

}  // namespace frayhold::store
