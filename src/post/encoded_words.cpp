// SPDX-License-Identifier: Apache-2.0
#include "post/encoded_words.h"

#include <optional>

#include "post/mime_handles.h"

namespace frayhold::post {
namespace {

struct EncodedWord {
    std::string_view charset;  // with a language tag, if any (RFC 2231, 5)
    std::string_view base64;
    std::size_t size = 0;  // of the whole word in the raw value
};

// The base64 encoded-word the text begins with, if it does.
std::optional<EncodedWord> word_at(std::string_view text) {
    if (!text.starts_with("=?")) return std::nullopt;
    const std::size_t mark = text.find('?', 2);
    if (mark == std::string_view::npos || mark == 2 || mark + 2 >= text.size()) return std::nullopt;
    if ((text[mark + 1] != 'B' && text[mark + 1] != 'b') || text[mark + 2] != '?') return std::nullopt;
    const std::size_t from = mark + 3;
    const std::size_t end = text.find("?=", from);
    if (end == std::string_view::npos) return std::nullopt;
    const EncodedWord word{text.substr(2, mark - 2), text.substr(from, end - from), end + 2};
    const bool torn = text.substr(0, word.size).find_first_of(" \t\r\n") != std::string_view::npos;
    return torn ? std::nullopt : std::optional(word);
}

bool same_charset(std::string_view a, std::string_view b) {
    return a.size() == b.size() && g_ascii_strncasecmp(a.data(), b.data(), a.size()) == 0;
}

void append_decoded(std::string_view base64, std::string& bytes) {
    gsize length = 0;
    const HeldText decoded(reinterpret_cast<char*>(g_base64_decode(std::string(base64).c_str(), &length)));
    bytes.append(decoded.get(), length);
}

}  // namespace

std::string join_encoded_words(std::string_view raw) {
    std::string out;
    while (!raw.empty()) {
        const auto first = word_at(raw);
        if (!first) {
            out += raw.front();
            raw.remove_prefix(1);
            continue;
        }
        std::string bytes;
        append_decoded(first->base64, bytes);
        std::string_view rest = raw.substr(first->size);
        int words = 1;
        for (;;) {
            const std::size_t next = rest.find_first_not_of(" \t\r\n");
            if (next == std::string_view::npos || next == 0) break;
            const auto more = word_at(rest.substr(next));
            if (!more || !same_charset(more->charset, first->charset)) break;
            append_decoded(more->base64, bytes);
            rest.remove_prefix(next + more->size);
            ++words;
        }
        if (words == 1) {
            out += raw.substr(0, first->size);
        } else {
            const HeldText joined(
                g_base64_encode(reinterpret_cast<const guchar*>(bytes.data()), bytes.size()));
            out += "=?" + std::string(first->charset) + "?B?" + joined.get() + "?=";
        }
        raw = rest;
    }
    return out;
}

}  // namespace frayhold::post
