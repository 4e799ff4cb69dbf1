// SPDX-License-Identifier: Apache-2.0
#include "record/text.h"

#include <cstddef>

namespace frayhold::record {
namespace {

constexpr std::string_view blanks = " \t\r\n\v\f";

unsigned byte_at(std::string_view text, std::size_t at) {
    return static_cast<unsigned char>(text[at]);
}

bool is_within(unsigned byte, unsigned low, unsigned high) {
    return byte >= low && byte <= high;
}

// Length of the well-formed sequence that starts at `at` (RFC 3629, section 4); 0 where there is none.
std::size_t sequence_length(std::string_view text, std::size_t at) {
    const unsigned lead = byte_at(text, at);
    if (lead == 0) return 0;
    if (lead < 0x80) return 1;
    const auto tail = [&](std::size_t offset, unsigned low, unsigned high) {
        return at + offset < text.size() && is_within(byte_at(text, at + offset), low, high);
    };
    if (is_within(lead, 0xc2, 0xdf)) return tail(1, 0x80, 0xbf) ? 2 : 0;
    if (is_within(lead, 0xe0, 0xef)) {
        // No overlong forms, no surrogates.
        const unsigned low = lead == 0xe0 ? 0xa0 : 0x80;
        const unsigned high = lead == 0xed ? 0x9f : 0xbf;
        return tail(1, low, high) && tail(2, 0x80, 0xbf) ? 3 : 0;
    }
    if (is_within(lead, 0xf0, 0xf4)) {
        // No overlong forms, nothing above U+10FFFF.
        const unsigned low = lead == 0xf0 ? 0x90 : 0x80;
        const unsigned high = lead == 0xf4 ? 0x8f : 0xbf;
        return tail(1, low, high) && tail(2, 0x80, 0xbf) && tail(3, 0x80, 0xbf) ? 4 : 0;
    }
    return 0;
}

}  // namespace

bool is_plain_text(std::string_view text) {
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = sequence_length(text, at);
        if (length == 0) return false;
        at += length;
    }
    return true;
}

std::string as_plain_text(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = sequence_length(text, at);
        if (length == 0) {
            out += "\xEF\xBF\xBD";
            ++at;
        } else {
            out += text.substr(at, length);
            at += length;
        }
    }
    return out;
}

bool is_blank(std::string_view text) {
    return text.find_first_not_of(blanks) == std::string_view::npos;
}

std::string trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return "";
    return std::string(text.substr(first, text.find_last_not_of(blanks) - first + 1));
}

}  // namespace frayhold::record
