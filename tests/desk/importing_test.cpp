// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"
#include "record/csv.h"
#include "record/item_csv.h"

namespace frayhold::desk {
namespace {

const std::string good =
    "Colour,Own mark,Type,Date made,Length\r\n"
    "red,R-1,rope_low_stretch,2021-07,45 m\r\n"
    ",S-1,Sewn sling,2022,\r\n";

}  // namespace

TEST_CASE("A file is shown first, then brought in as a whole") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const ImportPlan plan = desk.preview_import(good, {});
    REQUIRE(plan.columns.size() == 5);
    CHECK(plan.columns[0].field == "sheath_colour");
    CHECK(plan.columns[1].field == "mark");
    CHECK(plan.columns[4].field == "length_mm");
    CHECK(plan.items.size() == 2);
    CHECK_FALSE(plan.done);
    CHECK(plan.refused_csv.empty());
    CHECK(desk.journal({}).empty());

    CHECK(desk.import_items(good, {}).done);
    CHECK(desk.item("R-1").length == Millimetres(45'000.0));
    CHECK(desk.item("R-1").made == record::sample::day("2021-07-01"));
    CHECK(desk.item("S-1").kind == record::Kind::sewn_sling);
    CHECK(sample::actions(desk) == std::vector<std::string>{"item.add R-1", "item.add S-1"});
    sample::check_sound(desk);

    // Once more: both are there already.
    const ImportPlan again = desk.import_items(good, {});
    CHECK_FALSE(again.done);
    CHECK(again.refused.size() == 2);
    CHECK(desk.journal({}).size() == 2);
}

TEST_CASE("With one row refused none comes in, and the refused rows say why") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string csv =
        "mark,kind,made,status,note\n"
        "A-1,lanyard,2020,in_service,fine\n"
        "A-2,boat,2020,,\"a, b\"\n"
        "A-1,lanyard,2020,,twice\n"
        "A-3,lanyard,2020,retired,gone\n"
        "A-4,lanyard,2020\n"
        ",lanyard,2020,,\n"
        "A-5,,2020,,\n";
    const ImportPlan plan = desk.import_items(csv, {});
    CHECK_FALSE(plan.done);
    CHECK(plan.items.size() == 1);
    CHECK(desk.find_items({}).empty());
    CHECK(desk.journal({}).empty());
    const auto refused = record::parse_csv(plan.refused_csv);
    REQUIRE(refused.has_value());
    REQUIRE(refused->size() == 7);
    CHECK(refused->at(0).cells ==
          std::vector<std::string>{"line", "reason", "mark", "kind", "made", "status", "note"});
    CHECK(refused->at(1).cells[0] == "3");
    CHECK(refused->at(1).cells[1].find("\"boat\" cannot stand here; write one of") != std::string::npos);
    CHECK(refused->at(1).cells[6] == "a, b");
    CHECK(refused->at(2).cells[1].find("another row has this mark") != std::string::npos);
    CHECK(refused->at(3).cells[1].find("only brings in whole items in service") != std::string::npos);
    CHECK(refused->at(4).cells[1].find("3 cells") != std::string::npos);
    CHECK(refused->at(5).cells[1].find("no mark") != std::string::npos);
    CHECK(refused->at(6).cells[1].find("kind") != std::string::npos);
}

TEST_CASE("Columns may be named by hand, or left out") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string csv = "Nr,Was,Farbe,made\nK-1,harness,rot,\n";
    CHECK(testing::failure_of([&] { static_cast<void>(desk.preview_import(csv, {})); }).what ==
          "none of its columns is the mark of an item");
    const ColumnMap map{{"Nr", "mark"}, {"Was", "kind"}, {"Farbe", ""}};
    const ImportPlan plan = desk.preview_import(csv, map);
    CHECK(plan.columns[2].field.empty());
    CHECK(plan.items.at(0).sheath_colour.empty());
    CHECK(testing::failure_of([&] {
              static_cast<void>(desk.preview_import(csv, {{"Nr", "price"}}));
          }).fault == Fault::usage);
    CHECK(testing::failure_of([&] {
              static_cast<void>(desk.preview_import(csv, {{"Number", "mark"}}));
          }).what.find("no column called") != std::string::npos);
    CHECK(testing::failure_of([&] {
              static_cast<void>(desk.preview_import("mark,kind,own mark\n", {}));
          }).what.find("two of its columns stand for mark") != std::string::npos);
    CHECK(testing::failure_of([&] { static_cast<void>(desk.preview_import("", {})); }).fault == Fault::input);
    CHECK(testing::failure_of([&] { static_cast<void>(desk.preview_import("mark,kind\n\"K", {})); }).where ==
          "line 2");
}

TEST_CASE("What is written out comes in again as it was") {
    const sample::DeskFolder here;
    Desk desk = here.open();
    record::Item rope = record::sample::rope();
    rope.note = "felt, \"softly\"\nand twice";
    desk.add_item(rope);
    const sample::DeskFolder there;
    Desk other = there.open();
    CHECK(other.import_items(record::items_as_csv(desk.find_items({})), {}).done);
    CHECK(other.item("K-12") == rope);
}

}  // namespace frayhold::desk
