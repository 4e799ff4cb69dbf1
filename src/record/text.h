// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace frayhold::record {

// Well-formed UTF-8 (RFC 3629) without the null character: what the store keeps and JSON can carry.
[[nodiscard]] bool is_plain_text(std::string_view text);

// The same text with U+FFFD in place of every byte that is not: for file names and mail, which may hold
// anything.
[[nodiscard]] std::string as_plain_text(std::string_view text);

[[nodiscard]] bool is_blank(std::string_view text);

// A sentence and its values as they are kept in the record: the form that tr_recorded shows in any language.
[[nodiscard]] std::string kept_words(const std::string& sentence, const std::string& values);

// Without blanks and line ends at either end.
[[nodiscard]] std::string trimmed(std::string_view text);

// The words of a text as a search compares them: split at blanks, case folded, Unicode form NFKC, each word
// once.
[[nodiscard]] std::vector<std::string> search_words(std::string_view text);

}  // namespace frayhold::record
