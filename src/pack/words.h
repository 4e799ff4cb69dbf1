// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "record/check.h"
#include "units/date.h"
#include "units/quantity.h"

// Words that every printed record shares.
namespace frayhold::pack {

// With a capital at its beginning, where that is a letter of ASCII.
[[nodiscard]] std::string capital(std::string words);

// The fact, or that it is not recorded.
[[nodiscard]] std::string or_unknown(const std::string& text);
[[nodiscard]] std::string or_unknown(const std::optional<Date>& date);
[[nodiscard]] std::string or_unknown(const std::optional<Millimetres>& length);

// The result of a check that is done, what was found at it and what spoke against it, a line each.
[[nodiscard]] std::string check_words(const record::ItemCheck& check);

}  // namespace frayhold::pack
