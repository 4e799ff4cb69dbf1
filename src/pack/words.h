// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "record/check.h"
#include "record/item.h"
#include "record/verdict.h"
#include "units/date.h"
#include "units/quantity.h"

// Words that every printed record shares.
namespace frayhold::pack {

// With a capital at its beginning, where that is a letter of ASCII or Latin-1: "Éraflure".
[[nodiscard]] std::string capital(std::string words);

// The fact, or that it is not recorded.
[[nodiscard]] std::string or_unknown(const std::string& text);
[[nodiscard]] std::string or_unknown(const std::optional<Date>& date);
[[nodiscard]] std::string or_unknown(const std::optional<Millimetres>& length);

// "Arbolane 11, rope (low stretch) by Brandel & Voss Ropeworks".
[[nodiscard]] std::string item_words(const record::Item& item);

// "Retire by Ida Fenwright, 2026-03-01".
[[nodiscard]] std::string verdict_words(const record::Verdict& verdict);

// The result of a check that is done, what was found at it and what spoke against it, a line each.
[[nodiscard]] std::string check_words(const record::ItemCheck& check);

}  // namespace frayhold::pack
