// SPDX-License-Identifier: Apache-2.0
// Outside source: libical, the reference implementation of RFC 5545, reads what is written.
#include "post/due_calendar.h"

#include <libical/ical.h>

#include <catch2/catch.hpp>
#include <memory>
#include <vector>

namespace frayhold::post {
namespace {

struct FreeComponent {
    void operator()(icalcomponent* component) const { icalcomponent_free(component); }
};
using Calendar = std::unique_ptr<icalcomponent, FreeComponent>;

const std::vector<DueDay> days{
    {"H-2026-0001.reply-due@korreltrees.example", *parse_date("2026-03-14"),
     "H-2026-0001: reply due on KT-R014",
     "Asked gear@brandelvoss.example, by query 1; no answer.\nA path: C:\\rope. " + std::string(80, 'x') +
         " Grüße, 結び目 and 結び目 and 結び目 and 結び目 over the fold"},
    {"H-2026-0002.reply-due@korreltrees.example", *parse_date("2028-02-29"), "later", "one line"}};
const Time made = *parse_time("2026-02-28T09:30:00Z");

}  // namespace

TEST_CASE("libical reads the calendar without a complaint and finds the same days and words") {
    const std::string text = due_calendar(days, made);
    const Calendar calendar(icalparser_parse_string(text.c_str()));
    REQUIRE(calendar);
    CHECK(icalcomponent_count_errors(calendar.get()) == 0);
    // Gives what RFC 5545 and RFC 5546 ask of each component.
    CHECK(icalrestriction_check(calendar.get()) == 1);
    CHECK(icalcomponent_count_components(calendar.get(), ICAL_VEVENT_COMPONENT) == 2);
    icalcomponent* event = icalcomponent_get_first_component(calendar.get(), ICAL_VEVENT_COMPONENT);
    for (const DueDay& due : days) {
        REQUIRE(event != nullptr);
        CHECK(std::string(icalcomponent_get_uid(event)) == due.key);
        CHECK(std::string(icalcomponent_get_summary(event)) == due.summary);
        CHECK(std::string(icalcomponent_get_description(event)) == due.description);
        const icaltimetype start = icalcomponent_get_dtstart(event);
        CHECK(start.is_date == 1);
        CHECK(start.year == static_cast<int>(due.day.year()));
        CHECK(start.month == static_cast<int>(static_cast<unsigned>(due.day.month())));
        CHECK(start.day == static_cast<int>(static_cast<unsigned>(due.day.day())));
        const icaltimetype stamp = icalcomponent_get_dtstamp(event);
        CHECK(icaltime_as_timet(stamp) == made.time_since_epoch().count());
        CHECK(icalcomponent_count_components(event, ICAL_VALARM_COMPONENT) == 1);
        event = icalcomponent_get_next_component(calendar.get(), ICAL_VEVENT_COMPONENT);
    }
}

TEST_CASE("No line is longer than 75 bytes, none tears a character, and the same days give the same text") {
    const std::string text = due_calendar(days, made);
    CHECK(text == due_calendar(days, made));
    std::size_t from = 0;
    for (std::size_t end = text.find("\r\n"); end != std::string::npos; end = text.find("\r\n", from)) {
        CHECK(end - from <= 75);
        // A continuation byte of UTF-8 never begins a line, behind the blank of a fold.
        const std::size_t first = from + (text[from] == ' ' ? 1 : 0);
        CHECK((static_cast<unsigned char>(text[first]) & 0xC0) != 0x80);
        from = end + 2;
    }
    CHECK(from == text.size());
    const Calendar empty(icalparser_parse_string(due_calendar({}, made).c_str()));
    CHECK(icalcomponent_count_components(empty.get(), ICAL_VEVENT_COMPONENT) == 0);
}

}  // namespace frayhold::post
