// SPDX-License-Identifier: Apache-2.0
#include <nlohmann/json.hpp>

#include "desk/sample_desk.h"

namespace frayhold::desk {

using record::ItemStatus;

TEST_CASE("A new item comes into service, whatever its argument says") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Item item = record::sample::rope();
    item.status = ItemStatus::in_service_with_limit;
    item.limit = "x";
    item.parent = "K-0";
    CHECK(desk.add_item(item) == record::sample::rope());
    CHECK(desk.item("K-12") == record::sample::rope());
    sample::check_sound(desk);
}

TEST_CASE("A mark is given once") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    const Error error = sample::refused_unchanged(desk, [&] { desk.add_item(record::sample::rope()); });
    CHECK(error.fault == Fault::input);
    CHECK(error.sentence() ==
          "item K-12: this mark is already in the register; give the new item another mark");
}

TEST_CASE("A field that cannot be is refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Item item = record::sample::rope();
    item.length = Millimetres(-1.0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.add_item(item); }).where == "item K-12, length");
    desk.add_item(record::sample::rope());
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.edit_item("K-12", [](record::Item& edited) { edited.life.years_from_made = 0; });
          }).fault == Fault::input);
    CHECK(desk.item("K-12") == record::sample::rope());
}

TEST_CASE("An edit leaves what an edit may not touch, and the journal has what it was") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    sample::open_hold(desk);
    const record::Item edited = desk.edit_item("K-12", [](record::Item& item) {
        item.place = "Lower Ashmeer, rack 4";
        item.first_used.reset();
        item.mark = "K-99";
        item.status = ItemStatus::in_service;
        item.limit = "x";
        item.parent = "K-1";
    });
    CHECK(edited.place == "Lower Ashmeer, rack 4");
    CHECK(edited.mark == "K-12");
    CHECK(edited.status == ItemStatus::on_hold);
    CHECK(desk.item("K-12") == edited);
    const auto details = nlohmann::json::parse(desk.journal({}).back().details);
    CHECK(details.size() == 2);
    CHECK(details["place"]["was"] == "Lower Ashmeer, rack 3");
    CHECK(details["place"]["is"] == "Lower Ashmeer, rack 4");
    CHECK(details["first_used"]["was"] == "2021-10-04");
    CHECK(details["first_used"]["is"].is_null());
}

TEST_CASE("An edit that changes nothing leaves no entry") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    desk.edit_item("K-12", [](record::Item&) {});
    CHECK(desk.journal({}).size() == 1);
}

TEST_CASE("An edit that throws leaves the item as it was") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    CHECK_THROWS_AS(desk.edit_item("K-12",
                                   [](record::Item& item) {
                                       item.place = "x";
                                       throw std::runtime_error("no");
                                   }),
                    std::runtime_error);
    CHECK(desk.item("K-12") == record::sample::rope());
    desk.edit_item("K-12", [](record::Item& item) { item.place = "y"; });
    CHECK(desk.item("K-12").place == "y");
}

TEST_CASE("An unknown item is told") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    for (const auto& action : std::vector<std::function<void()>>{
             [&] { static_cast<void>(desk.item("K-77")); },
             [&] { static_cast<void>(desk.item_history("K-77")); },
             [&] { desk.edit_item("K-77", [](record::Item&) {}); },
             [&] { desk.open_hold("K-77", "fuzz"); },
         }) {
        const Error error = sample::refused_unchanged(desk, action);
        CHECK(error.fault == Fault::input);
        CHECK(error.sentence() ==
              "item K-77: there is no such item in the register; look up its mark in the list of items");
    }
}

TEST_CASE("Items are listed, narrowed and paged") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    for (int i = 10; i < 20; ++i) {
        record::Item item = record::sample::rope();
        item.mark = "K-" + std::to_string(i);
        if (i % 2) item.place = "van";
        desk.add_item(item);
    }
    desk.open_hold("K-15", "fuzz");
    ItemFilter filter;
    CHECK(desk.find_items(filter).size() == 10);
    filter.place = "van";
    CHECK(desk.find_items(filter).size() == 5);
    filter.status = ItemStatus::on_hold;
    CHECK(desk.find_items(filter).front().mark == "K-15");
    ItemFilter page;
    page.text = "arbolane";
    page.limit = 3;
    page.offset = 9;
    CHECK(desk.find_items(page).size() == 1);
}

TEST_CASE("An item's history names its life") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    CHECK(desk.item_history("K-12").life.words == "its life ends on 2031-10-04 (10 years from first use)");
    folder.move_clock(std::chrono::hours(24 * 365 * 6));
    CHECK(desk.item_history("K-12").life.state == record::LifeState::over);
}

}  // namespace frayhold::desk
