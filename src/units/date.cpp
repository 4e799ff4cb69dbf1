// SPDX-License-Identifier: Apache-2.0
#include "units/date.h"

#include <fmt/format.h>

#include <charconv>

namespace frayhold {
namespace {

// A run of decimal digits of a fixed length, or nothing.
std::optional<int> digits(std::string_view text, std::size_t at, std::size_t count) {
    if (at + count > text.size()) return std::nullopt;
    const std::string_view part = text.substr(at, count);
    if (part.find_first_not_of("0123456789") != std::string_view::npos) return std::nullopt;
    int value = 0;
    std::from_chars(part.data(), part.data() + part.size(), value);
    return value;
}

}  // namespace

std::optional<Date> parse_date(std::string_view text) {
    if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
    const auto y = digits(text, 0, 4);
    const auto m = digits(text, 5, 2);
    const auto d = digits(text, 8, 2);
    if (!y || !m || !d) return std::nullopt;
    const Date date{std::chrono::year(*y), std::chrono::month(static_cast<unsigned>(*m)),
                    std::chrono::day(static_cast<unsigned>(*d))};
    if (!date.ok()) return std::nullopt;
    return date;
}

std::string to_text(Date date) {
    return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
}

std::optional<Time> parse_time(std::string_view text) {
    if (text.size() != 20 || text[10] != 'T' || text[13] != ':' || text[16] != ':' || text[19] != 'Z')
        return std::nullopt;
    const auto date = parse_date(text.substr(0, 10));
    const auto h = digits(text, 11, 2);
    const auto min = digits(text, 14, 2);
    const auto s = digits(text, 17, 2);
    if (!date || !h || !min || !s || *h > 23 || *min > 59 || *s > 59) return std::nullopt;
    return std::chrono::sys_days(*date) + std::chrono::hours(*h) + std::chrono::minutes(*min) +
           std::chrono::seconds(*s);
}

std::string to_text(Time time) {
    const auto day = std::chrono::floor<std::chrono::days>(time);
    const std::chrono::hh_mm_ss clock(time - day);
    return fmt::format("{}T{:02}:{:02}:{:02}Z", to_text(Date(day)), clock.hours().count(),
                       clock.minutes().count(), clock.seconds().count());
}

std::string minute_words(Time time) {
    const std::string text = to_text(time);
    return text.substr(0, 10) + " " + text.substr(11, 5) + " UTC";
}

Date day_of(Time time) {
    return std::chrono::floor<std::chrono::days>(time);
}

Date add_months(Date date, int months) {
    const Date moved = date + std::chrono::months(months);
    if (moved.ok()) return moved;
    return Date(moved.year() / moved.month() / std::chrono::last);
}

}  // namespace frayhold
