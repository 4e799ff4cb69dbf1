// SPDX-License-Identifier: Apache-2.0
#include <nlohmann/json.hpp>

#include "desk/sample_desk.h"

namespace frayhold::desk {

using record::ItemStatus;
using record::MakersAnswer;
using record::VerdictKind;

namespace {

VerdictOrder cut_order() {
    VerdictOrder order = sample::verdict_order(VerdictKind::cut_and_keep_parts);
    order.parts = {{"K-12a", Millimetres(11'500.0)}, {"K-12b", Millimetres(32'500.0)}};
    order.scrapped = Millimetres(1'000.0);
    return order;
}

void find_core(Desk& desk, const std::string& hold) {
    record::Finding seen;
    seen.kind = "core_seen";
    seen.station = Millimetres(12'000.0);
    desk.add_finding(hold, seen);
}

}  // namespace

TEST_CASE("The item follows each verdict") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, MakersAnswer::fit);
    VerdictOrder order;
    ItemStatus expected = ItemStatus::in_service;
    SECTION("returned") {
        order = sample::verdict_order(VerdictKind::return_to_service);
    }
    SECTION("returned with a limit") {
        order = sample::verdict_order(VerdictKind::return_with_limit);
        order.limit = "rigging only";
        expected = ItemStatus::in_service_with_limit;
    }
    SECTION("retired") {
        order = sample::verdict_order(VerdictKind::retire_and_destroy);
        order.witness = record::sample::keeper;
        expected = ItemStatus::retired;
    }
    SECTION("sent to the maker") {
        order = sample::verdict_order(VerdictKind::send_to_maker);
        expected = ItemStatus::sent_to_maker;
    }
    SECTION("cut") {
        order = cut_order();
        expected = ItemStatus::retired;
    }
    const record::Verdict verdict = desk.give_verdict(hold, order);
    CHECK(verdict.given == *folder.now);
    CHECK(verdict.by == record::sample::competent_person);
    CHECK(desk.item("K-12").status == expected);
    CHECK(desk.item("K-12").limit == (expected == ItemStatus::in_service_with_limit ? "rigging only" : ""));
    CHECK(desk.case_file(hold).verdict == verdict);
    sample::check_sound(desk);
}

// Common practice, no source: where the core shows, the rope is retired, or the place is cut out and two
// shorter ropes are kept, each with an identity of its own.
TEST_CASE("Core seen: two shorter ropes with marks of their own") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    find_core(desk, hold);
    const record::Verdict verdict = desk.give_verdict(hold, cut_order());
    CHECK_FALSE(verdict.is_override());
    CHECK(desk.item("K-12").status == ItemStatus::retired);
    const record::Item part = desk.item("K-12b");
    CHECK(part.parent == "K-12");
    CHECK(part.length == Millimetres(32'500.0));
    CHECK(part.status == ItemStatus::in_service);
    // A part is as old as what it was cut from.
    CHECK(part.made == record::sample::rope().made);
    CHECK(part.first_used == record::sample::rope().first_used);
    CHECK(part.life == record::sample::rope().life);
    const ItemHistory history = desk.item_history("K-12");
    REQUIRE(history.parts.size() == 2);
    CHECK(history.parts[0].mark == "K-12a");
    CHECK(history.holds.at(0).verdict->scrapped == Millimetres(1'000.0));
    // A part is an item like any other.
    const std::string second = desk.open_hold("K-12b", "fuzz").number;
    CHECK(desk.case_file(second).item.parent == "K-12");
    sample::check_sound(desk);
}

TEST_CASE("Parts may carry a limit") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, MakersAnswer::fit_with_limit, "rigging only");
    CHECK(sample::refused_unchanged(desk, [&] { desk.give_verdict(hold, cut_order()); }).fault ==
          Fault::refused);
    VerdictOrder order = cut_order();
    order.limit = "rigging only";
    desk.give_verdict(hold, order);
    CHECK(desk.item("K-12a").status == ItemStatus::in_service_with_limit);
    CHECK(desk.item("K-12a").limit == "rigging only");
    CHECK(desk.item("K-12").limit.empty());
    sample::check_sound(desk);
}

TEST_CASE("A part's mark must be new to the register") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    record::Item other = record::sample::rope();
    other.mark = "K-12b";
    desk.add_item(other);
    find_core(desk, hold);
    const Error error = sample::refused_unchanged(desk, [&] { desk.give_verdict(hold, cut_order()); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what == "the mark K-12b is already in the register");
    CHECK(desk.find_items({}).size() == 2);
    VerdictOrder blank = cut_order();
    blank.parts[1].mark = "K-12c ";
    CHECK(sample::refused_unchanged(desk, [&] { desk.give_verdict(hold, blank); }).where == "mark");
    CHECK(desk.find_items({}).size() == 2);
}

TEST_CASE("Lengths that do not add up, and what cannot be cut, are refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    find_core(desk, hold);
    VerdictOrder order = cut_order();
    order.scrapped = Millimetres(900.0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.give_verdict(hold, order); }).what ==
          "the parts and the scrapped length make 44.9 m, but K-12 is 45 m long");
    record::Item sling;
    sling.mark = "S-1";
    sling.kind = record::Kind::sewn_sling;
    sling.length = Millimetres(45'000.0);
    desk.add_item(sling);
    const std::string other = desk.open_hold("S-1", "a nick").number;
    CHECK(sample::refused_unchanged(desk, [&] { desk.give_verdict(other, cut_order()); }).what ==
          "only rope and cord can be cut into parts, and S-1 is no rope or cord: sewn sling");
}

TEST_CASE("Returning against a rule is refused without a reason, and shown in plain sight with one") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, MakersAnswer::not_fit);
    find_core(desk, hold);
    const Error error = sample::refused_unchanged(
        desk, [&] { desk.give_verdict(hold, sample::verdict_order(VerdictKind::return_to_service)); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what.find("the maker answered 'not fit for service'; retire criterion met: Core seen") !=
          std::string::npos);
    CHECK(desk.item("K-12").status == ItemStatus::on_hold);

    const record::Verdict verdict =
        desk.give_verdict(hold, sample::verdict_order(VerdictKind::return_to_service,
                                                      "for the training stand, a metre off the ground"));
    CHECK(verdict.is_override());
    CHECK(verdict.given_against.size() == 2);
    CHECK(desk.case_file(hold).verdict->given_against == verdict.given_against);
    CHECK(desk.item_history("K-12").holds.at(0).verdict->is_override());
    const auto details = nlohmann::json::parse(desk.journal({}).back().details);
    CHECK(details["override"] == true);
    CHECK(details["given_against"].size() == 2);
    CHECK(details["reason"] == "for the training stand, a metre off the ground");
    CHECK(details["by"] == record::sample::competent_person);
    sample::check_sound(desk);
}

TEST_CASE("Life is weighed on the day of the verdict") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, MakersAnswer::fit);
    // Ten years from first use, 2021-10-04.
    *folder.now = record::sample::at("2031-10-04T00:00:00Z");
    const Error error = sample::refused_unchanged(
        desk, [&] { desk.give_verdict(hold, sample::verdict_order(VerdictKind::return_to_service)); });
    CHECK(error.what.find("the end of its life has passed: 2031-10-04") != std::string::npos);
    *folder.now = record::sample::at("2031-10-03T23:59:59Z");
    CHECK_FALSE(desk.give_verdict(hold, sample::verdict_order(VerdictKind::return_to_service)).is_override());
}

TEST_CASE("A verdict names its person") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, MakersAnswer::fit);
    VerdictOrder order = sample::verdict_order(VerdictKind::return_to_service);
    order.by = " ";
    CHECK(sample::refused_unchanged(desk, [&] { desk.give_verdict(hold, order); }).what ==
          "the verdict names nobody");
}

}  // namespace frayhold::desk
