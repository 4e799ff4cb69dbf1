// SPDX-License-Identifier: Apache-2.0
#include "record/life.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <random>

#include "record/sample_case.h"
#include "record/temp_folder.h"

namespace frayhold::record {
using sample::day;

namespace {

Item with(std::optional<Date> made, std::optional<Date> first_used, LifeRule life) {
    Item item = sample::rope();
    item.made = made;
    item.bought.reset();
    item.first_used = first_used;
    item.life = life;
    return item;
}

}  // namespace

TEST_CASE("Of the two rules the earlier end wins") {
    const Date now = day("2026-03-02");
    const LifeEnd by_made = life_end(with(day("2016-05-01"), day("2020-01-10"), {12, 10}), now);
    CHECK(by_made.over_from == day("2028-05-01"));
    CHECK(by_made.words == "its life ends on 2028-05-01 (12 years from the date made)");

    const LifeEnd by_use = life_end(with(day("2020-01-01"), day("2020-02-01"), {12, 10}), now);
    CHECK(by_use.over_from == day("2030-02-01"));
    CHECK(by_use.words == "its life ends on 2030-02-01 (10 years from first use)");
}

TEST_CASE("Life is over from the day on which it ends") {
    const Item item = with(day("2016-03-02"), std::nullopt, {10, std::nullopt});
    CHECK(life_end(item, day("2026-03-01")).state == LifeState::ending);
    CHECK(life_end(item, day("2026-03-02")).state == LifeState::over);
    CHECK(life_end(item, day("2026-03-02")).counts_as_over());
    CHECK_FALSE(life_end(item, day("2026-03-01")).counts_as_over());
}

TEST_CASE("A warning comes six months ahead") {
    const Item item = with(day("2016-09-02"), std::nullopt, {10, std::nullopt});
    CHECK(life_end(item, day("2026-03-01")).state == LifeState::running);
    CHECK(life_end(item, day("2026-03-02")).state == LifeState::ending);
}

TEST_CASE("An unknown date is the unsafe case") {
    const Date now = day("2026-03-02");

    SECTION("unknown first use counts from the date made") {
        const LifeEnd life = life_end(with(day("2020-01-01"), std::nullopt, {12, 10}), now);
        CHECK(life.over_from == day("2030-01-01"));
        CHECK(life.words.find("as the date of first use is not recorded") != std::string::npos);
    }
    SECTION("unknown date made leaves the end unknown: over") {
        const LifeEnd life = life_end(with(std::nullopt, day("2025-01-01"), {12, 10}), now);
        CHECK(life.state == LifeState::unknown_date);
        CHECK_FALSE(life.over_from.has_value());
        CHECK(life.counts_as_over());
        CHECK(life.words.find("the date made is not recorded") != std::string::npos);
    }
    SECTION("an end that has passed is told, whatever else is unknown") {
        const LifeEnd life = life_end(with(std::nullopt, day("2015-01-01"), {12, 10}), now);
        CHECK(life.state == LifeState::over);
        CHECK(life.over_from == day("2025-01-01"));
    }
    SECTION("no date at all: over") {
        CHECK(life_end(with(std::nullopt, std::nullopt, {std::nullopt, 10}), now).counts_as_over());
    }
    SECTION("a rule from first use alone needs no date made") {
        const LifeEnd life = life_end(with(std::nullopt, day("2020-05-05"), {std::nullopt, 10}), now);
        CHECK(life.state == LifeState::running);
        CHECK(life.over_from == day("2030-05-05"));
    }
}

TEST_CASE("Without a rule nothing is promised") {
    const LifeEnd life = life_end(with(day("1990-01-01"), day("1990-01-01"), {}), day("2026-03-02"));
    CHECK(life.state == LifeState::no_rule);
    CHECK_FALSE(life.over_from.has_value());
    CHECK_FALSE(life.counts_as_over());
    CHECK(life.words == "no life limit of the maker is recorded");
}

// Outside check: python-dateutil's relativedelta (Debian's python3-dateutil) adds the same years to the same
// dates.
TEST_CASE("Life ends on the day another calendar gives") {
    std::mt19937 seeded(20260302);
    std::uniform_int_distribution<int> days(0, 20'000);
    std::uniform_int_distribution<int> years(1, 25);
    const testing::TempFolder folder;
    const std::string list = (folder.path() / "life").string();
    int written = 0;
    {
        std::ofstream out(list);
        const auto write = [&](Date made, int life) {
            const LifeEnd end = life_end(with(made, std::nullopt, {life, std::nullopt}), day("2026-03-02"));
            REQUIRE(end.over_from.has_value());
            out << to_text(made) << ' ' << life << ' ' << to_text(*end.over_from) << '\n';
            ++written;
        };
        for (const char* leap : {"2004-02-29", "2020-02-29", "2000-02-29"})
            for (int life = 1; life <= 25; ++life) write(day(leap), life);
        for (int i = 0; i < 3000; ++i)
            write(Date(std::chrono::sys_days(day("1980-01-01")) + std::chrono::days(days(seeded))),
                  years(seeded));
    }
    const std::string command = std::string("/usr/bin/python3 ") + FRAYHOLD_SOURCE_DIR +
                                "/tests/record/check_life.py " + list + " " + std::to_string(written);
    CHECK(std::system(command.c_str()) == 0);
}

}  // namespace frayhold::record
