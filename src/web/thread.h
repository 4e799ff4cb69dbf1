// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "record/case_file.h"

namespace frayhold::web {

// Letters and replies of a hold in the order in which they went and came. `here` is the path of the one that
// is being read; may be empty.
[[nodiscard]] nlohmann::json thread_of(const record::CaseFile& file, const std::string& here);

// How a letter stands: "sent 2026-02-28, reply due 2026-03-14", "waiting to be sent".
[[nodiscard]] std::string state_words(const record::Query& query);

// "12 kB".
[[nodiscard]] std::string size_words(std::size_t bytes);

}  // namespace frayhold::web
