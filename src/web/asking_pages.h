// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// What to ask the maker; a POST makes the message, byte for byte as it would go out, to be looked over.
[[nodiscard]] Answer ask_page(const Visit& visit, const std::string& hold);

// A query: the exact letter and what is attached. Below it: "message" the .eml to be saved, "attachment/N",
// and "sent" (POST) which records that it went out.
[[nodiscard]] Answer query_page(const Visit& visit, const std::string& hold, int number,
                                const std::vector<std::string>& rest);

// A form for a reply: a mail file or pasted text of one; a POST keeps it.
[[nodiscard]] Answer add_reply_page(const Visit& visit, const std::string& hold);

// A reply as plain text, nothing of it fetched or run. Below it: "message" and "attachment/N" to be saved,
// and "answer" (POST) which enters the maker's answer in fixed terms.
[[nodiscard]] Answer reply_page(const Visit& visit, const std::string& hold, int number,
                                const std::vector<std::string>& rest);

}  // namespace frayhold::web
