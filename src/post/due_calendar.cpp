// SPDX-License-Identifier: Apache-2.0
#include "post/due_calendar.h"

#include "post/characters.h"

namespace frayhold::post {
namespace {

// RFC 5545, 3.3.11: commas, semicolons, backslashes and line breaks are escaped; other control characters
// cannot be.
std::string escaped(const std::string& text) {
    std::string out;
    each_character(valid_text(text), [&](gunichar c, std::string_view bytes) {
        if (c == ',' || c == ';' || c == '\\') out += '\\';
        if (c == '\n')
            out += "\\n";
        else if (c >= ' ' && c != 0x7F)
            out += bytes;
    });
    return out;
}

// RFC 5545, 3.1: lines of at most 75 bytes, continued behind a blank, no character torn.
void add_line(std::string& out, const std::string& line) {
    constexpr std::size_t longest_bytes = 75;
    std::size_t used = 0;
    each_character(line, [&](gunichar, std::string_view bytes) {
        if (used + bytes.size() > longest_bytes) {
            out += "\r\n ";
            used = 1;
        }
        out += bytes;
        used += bytes.size();
    });
    out += "\r\n";
}

// "20260228" and "20260228T093000Z".
std::string without_dashes(std::string text) {
    std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
    return text;
}

}  // namespace

std::string due_calendar(std::span<const DueDay> days, Time made) {
    std::string out;
    for (const char* line : {"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Frayhold//Replies due//EN"})
        add_line(out, line);
    for (const DueDay& due : days) {
        add_line(out, "BEGIN:VEVENT");
        add_line(out, "UID:" + escaped(due.key));
        add_line(out, "DTSTAMP:" + without_dashes(frayhold::to_text(made)));
        add_line(out, "DTSTART;VALUE=DATE:" + without_dashes(frayhold::to_text(due.day)));
        add_line(out, "SUMMARY:" + escaped(due.summary));
        add_line(out, "DESCRIPTION:" + escaped(due.description));
        add_line(out, "TRANSP:TRANSPARENT");
        add_line(out, "BEGIN:VALARM");
        add_line(out, "ACTION:DISPLAY");
        add_line(out, "DESCRIPTION:" + escaped(due.summary));
        add_line(out, "TRIGGER;RELATED=START:PT8H");
        add_line(out, "END:VALARM");
        add_line(out, "END:VEVENT");
    }
    add_line(out, "END:VCALENDAR");
    return out;
}

}  // namespace frayhold::post
