// SPDX-License-Identifier: Apache-2.0
#include "record/text.h"

#include <glib.h>

#include <algorithm>
#include <memory>
#include <set>

namespace frayhold::record {
namespace {

constexpr std::string_view blanks = " \t\r\n\v\f";

struct GFree {
    void operator()(char* text) const { g_free(text); }
};
using GText = std::unique_ptr<char, GFree>;

gssize length_of(std::string_view text) {
    return static_cast<gssize>(text.size());
}

}  // namespace

bool is_plain_text(std::string_view text) {
    return g_utf8_validate_len(text.data(), text.size(), nullptr) != FALSE;
}

std::string as_plain_text(std::string_view text) {
    if (is_plain_text(text)) return std::string(text);
    return GText(g_utf8_make_valid(text.data(), length_of(text))).get();
}

bool is_blank(std::string_view text) {
    return text.find_first_not_of(blanks) == std::string_view::npos;
}

std::string kept_words(const std::string& sentence, const std::string& values) {
    return sentence + ": " + values;
}

std::string trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return "";
    return std::string(text.substr(first, text.find_last_not_of(blanks) - first + 1));
}

std::vector<std::string> search_words(std::string_view text) {
    const std::string plain = as_plain_text(text);
    const GText folded(g_utf8_casefold(plain.data(), length_of(plain)));
    const GText normal(g_utf8_normalize(folded.get(), -1, G_NORMALIZE_ALL_COMPOSE));
    const std::string_view whole(normal.get());
    std::set<std::string> words;
    for (std::size_t at = whole.find_first_not_of(blanks); at != std::string_view::npos;) {
        const std::size_t end = std::min(whole.find_first_of(blanks, at), whole.size());
        words.emplace(whole.substr(at, end - at));
        at = whole.find_first_not_of(blanks, end);
    }
    return {words.begin(), words.end()};
}

}  // namespace frayhold::record
