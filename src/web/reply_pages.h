// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// A form for a reply: a mail file, the pasted source of one, or words that came another way; a POST keeps it.
[[nodiscard]] Answer add_reply_page(const Visit& visit, const std::string& hold);

// A reply as plain text within its thread, nothing of it fetched or run. Below it: "message" and
// "attachment/N" to be saved.
[[nodiscard]] Answer reply_page(const Visit& visit, const std::string& hold, int number,
                                const std::vector<std::string>& rest);

// Enters the maker's answer in fixed terms (POST only).
[[nodiscard]] Answer answer_page(const Visit& visit, const std::string& hold, int number);

}  // namespace frayhold::web
