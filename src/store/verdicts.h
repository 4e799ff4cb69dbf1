// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "record/verdict.h"
#include "store/database.h"

namespace frayhold::store {

// The items of its parts must be in the register.
void insert_verdict(Database& database, const std::string& hold, const record::Verdict& verdict);

[[nodiscard]] std::optional<record::Verdict> verdict_of(const Database& database, const std::string& hold);

}  // namespace frayhold::store
