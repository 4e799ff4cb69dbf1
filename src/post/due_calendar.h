// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>

#include "units/date.h"

namespace frayhold::post {

// A day on which something is due.
struct DueDay {
    std::string key;  // unique and lasting: the same key again changes the entry in a calendar program
    Date day{};
    std::string summary;      // one line
    std::string description;  // may have several lines
};

// The days as a calendar file (iCalendar, RFC 5545): whole-day entries that take up no time, with an alarm on
// the morning of the day. `made` is the time of each entry's making. The same days give the same text. Text
// is UTF-8.
[[nodiscard]] std::string due_calendar(std::span<const DueDay> days, Time made);

}  // namespace frayhold::post
