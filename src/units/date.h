// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace frayhold {

// Dates are proleptic Gregorian calendar dates (ISO 8601); times are UTC to the second.
using Date = std::chrono::year_month_day;
using Time = std::chrono::sys_seconds;

// "2026-02-28". Empty where the text is not a real date in just that form.
[[nodiscard]] std::optional<Date> parse_date(std::string_view text);
[[nodiscard]] std::string to_text(Date date);

// "2026-02-28T09:30:00Z".
[[nodiscard]] std::optional<Time> parse_time(std::string_view text);
[[nodiscard]] std::string to_text(Time time);
// "2026-02-28 09:30 UTC", for a person.
[[nodiscard]] std::string minute_words(Time time);

// The day (UTC) that the time lies in.
[[nodiscard]] Date day_of(Time time);

// The same day so many months on; the last day of the month where that day does not exist
// (31 January and one month: 28 or 29 February).
[[nodiscard]] Date add_months(Date date, int months);

}  // namespace frayhold
