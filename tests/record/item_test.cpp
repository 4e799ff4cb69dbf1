// SPDX-License-Identifier: Apache-2.0
#include "record/item.h"

#include <catch2/catch.hpp>
#include <limits>

#include "record/sample_case.h"

namespace frayhold::record {
using sample::day;

namespace {

Error error_of(const Item& item) {
    const Result<void> checked = check_item(item);
    REQUIRE_FALSE(checked.has_value());
    CHECK(checked.error().fault == Fault::input);
    CHECK_FALSE(checked.error().mend.empty());
    return checked.error();
}

}  // namespace

TEST_CASE("A whole record passes") {
    CHECK(check_item(sample::rope()).has_value());
}

TEST_CASE("A bare mark is enough for a record") {
    Item item;
    item.mark = "Seil Nr. 7 – grün";
    CHECK(check_item(item).has_value());
}

TEST_CASE("A wrong field is named") {
    Item item = sample::rope();

    SECTION("no mark") {
        item.mark.clear();
        CHECK(error_of(item).sentence() == "mark: the item has no mark of its own; give it one, as in K-12");
    }
    SECTION("blank at an end of the mark") {
        item.mark = "K-12 ";
        CHECK(error_of(item).where == "mark");
    }
    SECTION("line break in the mark") {
        item.mark = "K\n12";
        CHECK(error_of(item).where == "mark");
    }
    SECTION("mark too long") {
        item.mark = std::string(101, 'K');
        CHECK(error_of(item).where == "mark");
    }
    SECTION("length") {
        for (const double wrong : {0.0, -1.0, 2e8, std::numeric_limits<double>::quiet_NaN(),
                                   std::numeric_limits<double>::infinity()}) {
            item.length = Millimetres(wrong);
            CHECK(error_of(item).where == "item K-12, length");
        }
    }
    SECTION("width") {
        item.diameter_or_width = Millimetres(0.0);
        CHECK(error_of(item).where == "item K-12, diameter or width");
    }
    SECTION("life") {
        item.life.years_from_made = 0;
        CHECK(error_of(item).where == "item K-12, life from date made");
        item.life = {12, 101};
        CHECK(error_of(item).where == "item K-12, life from first use");
    }
    SECTION("dates against their order") {
        item.bought = day("2021-07-13");
        CHECK(error_of(item).what == "date bought (2021-07-13) lies before date made (2021-07-14)");
        item.bought.reset();
        item.first_used = day("2021-07-13");
        CHECK(error_of(item).where == "item K-12, date of first use");
        item.made.reset();
        item.bought = day("2021-07-14");
        CHECK(error_of(item).where == "item K-12, date of first use");
    }
}

TEST_CASE("Dates on one day are in order") {
    Item item = sample::rope();
    item.made = item.bought = item.first_used = day("2024-02-29");
    CHECK(check_item(item).has_value());
}

TEST_CASE("Only rope and cord can be cut into parts") {
    for (const Kind kind : all_kinds()) {
        const bool rope =
            kind == Kind::rope_low_stretch || kind == Kind::rope_dynamic || kind == Kind::accessory_cord;
        CHECK(can_be_cut(kind) == rope);
    }
}

TEST_CASE("Lengths in words") {
    CHECK(length_words(Millimetres(42'500.0)) == "42.5 m");
    CHECK(length_words(Millimetres(60'000.0)) == "60 m");
    CHECK(length_words(Millimetres(1'000.0)) == "1 m");
    CHECK(length_words(Millimetres(1'234.0)) == "1.234 m");
    CHECK(length_words(Millimetres(999.0)) == "999 mm");
    CHECK(length_words(Millimetres(12.5)) == "12.5 mm");
    CHECK(length_words(Millimetres(0.0)) == "0 mm");
}

TEST_CASE("A label's date is the earliest day it can mean") {
    CHECK(parse_label_date("2019-03-14") == day("2019-03-14"));
    CHECK(parse_label_date("2019-03") == day("2019-03-01"));
    CHECK(parse_label_date("2019") == day("2019-01-01"));
    for (const char* wrong : {"", "19", "2019-13", "2019-02-30", "03/2019", "2019-3", "201a"})
        CHECK_FALSE(parse_label_date(wrong).has_value());
}

}  // namespace frayhold::record
