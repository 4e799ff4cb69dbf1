// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <glib.h>

#include <string>
#include <string_view>

// Text that strangers wrote, character by character.
namespace frayhold::post {

// The text, or "" for none, with every byte that is not UTF-8, and every NUL, as U+FFFD.
[[nodiscard]] std::string valid_text(const char* text);
[[nodiscard]] std::string valid_text(std::string_view text);

// Calls visit(code point, its bytes) for each character of valid UTF-8 without NULs.
template <class Visit>
void each_character(const std::string& valid, Visit visit) {
    const char* at = valid.c_str();
    while (*at != '\0') {
        const char* next = g_utf8_next_char(at);
        visit(g_utf8_get_char(at), std::string_view(at, static_cast<std::size_t>(next - at)));
        at = next;
    }
}

}  // namespace frayhold::post
