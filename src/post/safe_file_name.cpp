// SPDX-License-Identifier: Apache-2.0
#include "post/safe_file_name.h"

#include <glib.h>

#include <algorithm>
#include <array>

#include "post/characters.h"

namespace frayhold::post {
namespace {

// Characters that show nothing or change how their neighbours are shown (Unicode general categories Cc, Cf,
// Zl, Zp and unassigned or private ones).
bool invisible(gunichar c) {
    switch (g_unichar_type(c)) {
        case G_UNICODE_CONTROL:
        case G_UNICODE_FORMAT:
        case G_UNICODE_LINE_SEPARATOR:
        case G_UNICODE_PARAGRAPH_SEPARATOR:
        case G_UNICODE_PRIVATE_USE:
        case G_UNICODE_SURROGATE:
        case G_UNICODE_UNASSIGNED:
            return true;
        default:
            return false;
    }
}

std::string cleaned(std::string_view part) {
    std::string out;
    constexpr std::string_view forbidden = "<>:\"|?*";
    each_character(valid_text(part), [&](gunichar c, std::string_view bytes) {
        if (invisible(c)) return;
        if (g_unichar_isspace(c)) {
            out += ' ';
        } else if (c == 0xFFFD || forbidden.find(bytes) != std::string_view::npos) {
            out += '_';
        } else {
            out += bytes;
        }
    });
    const auto edge = [](char c) { return c == ' ' || c == '.'; };
    while (!out.empty() && edge(out.back())) out.pop_back();
    out.erase(out.begin(), std::find_if_not(out.begin(), out.end(), edge));
    return out;
}

// Names that some file systems keep for devices, with any extension.
bool device_name(std::string_view name) {
    std::string stem(name.substr(0, name.find('.')));
    std::transform(stem.begin(), stem.end(), stem.begin(), g_ascii_toupper);
    constexpr std::array<std::string_view, 4> plain{"CON", "PRN", "AUX", "NUL"};
    if (std::find(plain.begin(), plain.end(), stem) != plain.end()) return true;
    return stem.size() == 4 && (stem.starts_with("COM") || stem.starts_with("LPT")) &&
           g_ascii_isdigit(stem[3]);
}

// At most so many bytes, cut between characters.
std::string_view cut(std::string_view text, std::size_t bytes) {
    if (text.size() <= bytes) return text;
    while (bytes > 0 && (static_cast<unsigned char>(text[bytes]) & 0xC0) == 0x80) --bytes;
    return text.substr(0, bytes);
}

}  // namespace

std::string safe_file_name(std::string_view name, std::string_view fallback) {
    const std::size_t slash = name.find_last_of("/\\");
    std::string safe = cleaned(slash == std::string_view::npos ? name : name.substr(slash + 1));
    if (safe.empty()) return std::string(fallback);
    if (device_name(safe)) safe.insert(0, "_");
    if (safe.size() <= longest_file_name_bytes) return safe;
    constexpr std::size_t longest_extension = 12;
    const std::size_t dot = safe.rfind('.');
    const bool keep = dot != std::string::npos && safe.size() - dot <= longest_extension;
    const std::string extension = keep ? safe.substr(dot) : std::string();
    return std::string(cut(safe, longest_file_name_bytes - extension.size())) + extension;
}

}  // namespace frayhold::post
