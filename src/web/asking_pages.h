// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// What to ask the maker, filled in from the maker's book, and what the pack would disclose; a POST makes the
// message, byte for byte as it would go out, to be looked over.
[[nodiscard]] Answer ask_page(const Visit& visit, const std::string& hold);

// A query: the exact letter, what is attached, what it discloses and where it is in the post. Below it:
// "message" the .eml to be saved, "attachment/N".
[[nodiscard]] Answer query_page(const Visit& visit, const std::string& hold, int number,
                                const std::vector<std::string>& rest);

// What is done with a query: "send" now, "queue" for the next run of the post, "withdraw", "was_sent" or
// "again" where the post asks, "sent" by hand (POST only).
[[nodiscard]] Answer query_action(const Visit& visit, const std::string& hold, int number,
                                  const std::string& action);

}  // namespace frayhold::web
