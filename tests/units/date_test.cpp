// SPDX-License-Identifier: Apache-2.0
#include "units/date.h"

#include <catch2/catch.hpp>
#include <chrono>

namespace {

using frayhold::add_months;
using frayhold::Date;
using frayhold::day_of;
using frayhold::minute_words;
using frayhold::parse_date;
using frayhold::parse_time;
using frayhold::Time;
using frayhold::to_text;

Date date(int y, unsigned m, unsigned d) {
    return {std::chrono::year(y), std::chrono::month(m), std::chrono::day(d)};
}

TEST_CASE("A date is read and written as ISO 8601") {
    CHECK(parse_date("2026-02-28") == date(2026, 2, 28));
    CHECK(parse_date("0001-01-01") == date(1, 1, 1));
    CHECK(parse_date("9999-12-31") == date(9999, 12, 31));
    CHECK(to_text(date(2026, 2, 28)) == "2026-02-28");
    CHECK(to_text(date(7, 1, 2)) == "0007-01-02");
}

TEST_CASE("29 February is a date in leap years only") {
    CHECK(parse_date("2024-02-29"));
    CHECK(parse_date("2000-02-29"));
    CHECK_FALSE(parse_date("2026-02-29"));
    CHECK_FALSE(parse_date("1900-02-29"));
}

TEST_CASE("What is no date in just that form is no date") {
    for (const char* text :
         {"", "2026-2-28", "2026-02-30", "2026-13-01", "2026-00-10", "2026-01-00", "26-01-01", "2026/01/01",
          " 2026-01-01", "2026-01-01 ", "2026-01-0a", "+026-01-01", "-026-01-01"}) {
        CAPTURE(text);
        CHECK_FALSE(parse_date(text));
    }
}

TEST_CASE("A time is read and written to the second, in UTC") {
    const Time time = std::chrono::sys_days(date(2026, 2, 28)) + std::chrono::hours(9) +
                      std::chrono::minutes(30) + std::chrono::seconds(7);
    CHECK(parse_time("2026-02-28T09:30:07Z") == time);
    CHECK(to_text(time) == "2026-02-28T09:30:07Z");
    CHECK(to_text(Time{}) == "1970-01-01T00:00:00Z");
    CHECK(to_text(Time{} - std::chrono::seconds(1)) == "1969-12-31T23:59:59Z");
    for (const char* text :
         {"", "2026-02-28T09:30:07", "2026-02-28T24:00:00Z", "2026-02-28T09:60:00Z", "2026-02-28T09:30:60Z",
          "2026-02-29T09:30:00Z", "2026-02-28 09:30:07Z", "2026-02-28T09:30:07z", "2026-02-28T9:30:007Z"}) {
        CAPTURE(text);
        CHECK_FALSE(parse_time(text));
    }
}

TEST_CASE("A time is shown to the minute, and lies in its day by UTC") {
    const Time late = std::chrono::sys_days(date(2026, 2, 28)) + std::chrono::hours(23) +
                      std::chrono::minutes(59) + std::chrono::seconds(59);
    CHECK(minute_words(late) == "2026-02-28 23:59 UTC");
    CHECK(day_of(late) == date(2026, 2, 28));
    CHECK(day_of(late + std::chrono::seconds(1)) == date(2026, 3, 1));
    CHECK(day_of(Time{} - std::chrono::seconds(1)) == date(1969, 12, 31));
}

TEST_CASE("Months are added to the same day, or to the last one the month has") {
    CHECK(add_months(date(2026, 1, 15), 1) == date(2026, 2, 15));
    CHECK(add_months(date(2026, 1, 31), 1) == date(2026, 2, 28));
    CHECK(add_months(date(2024, 1, 31), 1) == date(2024, 2, 29));
    CHECK(add_months(date(2024, 2, 29), 12) == date(2025, 2, 28));
    CHECK(add_months(date(2026, 11, 30), 3) == date(2027, 2, 28));
    CHECK(add_months(date(2026, 3, 31), -1) == date(2026, 2, 28));
    CHECK(add_months(date(2026, 5, 5), 120) == date(2036, 5, 5));
    CHECK(add_months(date(2026, 5, 5), 0) == date(2026, 5, 5));
}

}  // namespace
