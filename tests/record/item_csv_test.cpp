// SPDX-License-Identifier: Apache-2.0
#include "record/item_csv.h"

#include <catch2/catch.hpp>
#include <set>

#include "record/csv.h"
#include "record/sample_case.h"

namespace frayhold::record {

TEST_CASE("An item goes through every field and comes back the same") {
    Item item = sample::rope();
    item.supplier = "Ropes & Co, +00 1";
    item.used_by = "Ida \"the keeper\" Fenwright";
    item.use = UseRate::heavy;
    item.life.source = "Instructions, page 4";
    item.note = "two\nlines, one comma";
    item.length = Millimetres(44'999.5);
    Item back;
    for (const std::string& field : item_fields()) {
        const auto set = set_field(back, field, field_text(item, field));
        INFO(field);
        CHECK(set.has_value());
    }
    CHECK(back == item);
}

// EN 365:2004, clause 4.4 (from memory) lists the headings of an equipment record. The history of checks,
// their persons and the next due date belong to the checks, not to the item: tests/pack/item_record_test.cpp.
TEST_CASE("Every heading that EN 365 asks of a record has its field") {
    const std::vector<std::string>& fields = item_fields();
    const std::set<std::string> known(fields.begin(), fields.end());
    for (const char* asked : {"model",     // a) product, type or model, and trade name
                              "kind",      // a)
                              "maker",     // b) maker or supplier, with how to reach them
                              "supplier",  // b)
                              "serial",    // c) means of identification: batch or serial number
                              "batch",     // c)
                              "mark",      // c)
                              "made",      // d) year of manufacture or life expiry date
                              "life_years_from_made", "life_years_from_first_use",  // d)
                              "bought",                                             // e) date of purchase
                              "note", "use",  // f) other information: frequency of use
                              "first_used",   // g) date first put into use
                              "used_by"})     // h) name of the user
        CHECK(known.contains(asked));
}

TEST_CASE("A heading is known by its words") {
    CHECK(field_for_heading("Own mark") == "mark");
    CHECK(field_for_heading("  MARK ") == "mark");
    CHECK(field_for_heading("Length (mm)") == "length_mm");
    CHECK(field_for_heading("length") == "length_mm");
    CHECK(field_for_heading("Serial-No.") == "serial");
    CHECK(field_for_heading("date_of-purchase") == "bought");
    CHECK(field_for_heading("Manufacturer") == "maker");
    CHECK(field_for_heading("Price").empty());
    CHECK(field_for_heading("").empty());
    // No two fields share a heading.
    for (const std::string& field : item_fields()) CHECK(field_for_heading(field) == field);
}

TEST_CASE("A cell that cannot be is told") {
    Item item;
    const auto wrong = [&](const char* field, const char* text) {
        const auto set = set_field(item, field, text);
        REQUIRE_FALSE(set.has_value());
        CHECK(set.error().where == field);
        return set.error().what + "; " + set.error().mend;
    };
    CHECK(wrong("kind", "boat").find("one of rope_low_stretch") != std::string::npos);
    CHECK(wrong("made", "14.3.2019") ==
          "\"14.3.2019\" cannot stand here; write a date such as 2019-03-14, 2019-03 or 2019");
    CHECK(wrong("length_mm", "long").find("45 m") != std::string::npos);
    CHECK(wrong("length_mm", "inf").find("length") != std::string::npos);
    CHECK(wrong("life_years_from_made", "10.5").find("whole number") != std::string::npos);
    CHECK(wrong("use", "daily").find("rare, regular, heavy") != std::string::npos);
    CHECK(wrong("status", "retired").find("only brings in whole items in service") != std::string::npos);
    CHECK(wrong("limit", "rigging").find("only brings in") != std::string::npos);
    CHECK(item == Item{});
    CHECK(set_field(item, "status", "in_service").has_value());
    CHECK(set_field(item, "made", "  ").has_value());
    CHECK(set_field(item, "kind", "Low-stretch rope").has_value());
    CHECK(set_field(item, "length_mm", "45 m").has_value());
    CHECK(item.length == Millimetres(45'000.0));
    CHECK_THROWS_AS(set_field(item, "price", "1"), Failure);
}

TEST_CASE("A cell that begins with a byte order mark is kept with it") {
    const std::string marked = "\xEF\xBB\xBFmark";
    CHECK(value_or_throw(parse_csv(marked + ",serial\r\n")).at(0).cells ==
          std::vector<std::string>{"mark", "serial"});
    CHECK(value_or_throw(parse_csv(csv_row({marked, "serial"}))).at(0).cells ==
          std::vector<std::string>{marked, "serial"});
}

TEST_CASE("Rows of any line end are read, and a wrong one is named by its line") {
    const auto rows = parse_csv(
        "\xEF\xBB\xBF"
        "a,b\r\n\r\n1,\"x\r\ny\"\n\n\"q\"\"\",\r3,4");
    REQUIRE(rows.has_value());
    CHECK(*rows ==
          std::vector<CsvRow>{{1, {"a", "b"}}, {3, {"1", "x\r\ny"}}, {6, {"q\"", ""}}, {7, {"3", "4"}}});
    CHECK(parse_csv("").value().empty());
    CHECK(parse_csv("a,").value() == std::vector<CsvRow>{{1, {"a", ""}}});
    const auto line_of = [](const char* text) {
        const auto wrong = parse_csv(text);
        REQUIRE_FALSE(wrong.has_value());
        return wrong.error().where;
    };
    CHECK(line_of("a\n\"b\n\n\n") == "line 2");
    CHECK(line_of("a\nb\n\"c\"d") == "line 3");
    CHECK(line_of("a\nb\"c\n") == "line 2");
    CHECK(line_of("a\xFF") == "the file");
}

}  // namespace frayhold::record
