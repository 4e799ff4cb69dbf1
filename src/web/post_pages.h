// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// The outbox, mails that found no hold, and the maker's book.
[[nodiscard]] Answer post_page(const Visit& visit);

// Sends what is due and fetches replies (POST only).
[[nodiscard]] Answer post_run(const Visit& visit);

// Places a mail, or sets it aside (POST only).
[[nodiscard]] Answer place_mail(const Visit& visit, int number);

// A maker's entry in the book, or a form for a new one; a POST enters or changes it.
[[nodiscard]] Answer maker_page(const Visit& visit);

// The languages that letters are written in.
[[nodiscard]] nlohmann::json language_lines(const std::string& chosen);

// Of a mail's limit, which people give in megabytes.
inline constexpr std::int64_t bytes_per_mb = 1'000'000;

}  // namespace frayhold::web
