// SPDX-License-Identifier: Apache-2.0
// Intervals between checks and lives, over leap days and month ends, against Python's datetime and dateutil.
#include <catch2/catch.hpp>
#include <cstdio>
#include <fstream>

#include "record/temp_folder.h"
#include "units/date.h"

namespace frayhold {

TEST_CASE("Months are added as dateutil adds them") {
    const testing::TempFolder folder;
    const std::string list = (folder.path() / "sums").string();
    int written = 0;
    {
        std::ofstream out(list);
        // Every day of four years with a leap day, and every third of the years about the two centuries that
        // have and have not one.
        for (const int year : {1899, 1900, 1901, 1999, 2000, 2001, 2023, 2024, 2025, 2026}) {
            const auto next_year = std::chrono::sys_days(std::chrono::year(year + 1) / 1 / 1);
            const std::chrono::days step(year < 2023 ? 3 : 1);
            for (auto day = std::chrono::sys_days(std::chrono::year(year) / 1 / 1); day < next_year;
                 day += step)
                for (const int months : {1, 2, 3, 6, 11, 12, 13, 18, 24, 120, 300}) {
                    const Date date(day);
                    out << to_text(date) << ' ' << months << ' ' << to_text(add_months(date, months)) << '\n';
                    ++written;
                }
        }
        for (const char* end :
             {"2024-01-29", "2024-01-30", "2024-01-31", "2023-01-31", "2024-02-29", "2024-12-31"})
            for (int months = 0; months <= 60; ++months, ++written)
                out << end << ' ' << months << ' ' << to_text(add_months(*parse_date(end), months)) << '\n';
    }
    const std::string command =
        "/usr/bin/python3 " FRAYHOLD_SOURCE_DIR "/tests/reference/date_arithmetic.py '" + list + "'";
    std::FILE* python = popen(command.c_str(), "r");
    REQUIRE(python != nullptr);
    int checked = 0;
    CHECK(std::fscanf(python, "%d", &checked) == 1);
    CHECK(pclose(python) == 0);
    CHECK(checked == written);
    CHECK(written > 10'000);
}

}  // namespace frayhold
