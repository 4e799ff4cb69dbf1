// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"

namespace frayhold::desk {

using record::HoldState;

TEST_CASE("A second hold on a held item is refused, and names the first") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    sample::open_hold(desk);
    const Error error = sample::refused_unchanged(desk, [&] { desk.open_hold("K-12", "more fuzz"); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.sentence() ==
          "item K-12: it is already on hold (H-2026-0001); add what is new to the hold that is open");
}

TEST_CASE("A hold needs words") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    CHECK(sample::refused_unchanged(desk, [&] { desk.open_hold("K-12", " \n"); }).fault == Fault::input);
    CHECK(desk.item("K-12").status == record::ItemStatus::in_service);
}

TEST_CASE("A retired item cannot be held, one back from the maker can") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string first = sample::open_hold(desk);
    desk.give_verdict(first, sample::verdict_order(record::VerdictKind::send_to_maker));
    CHECK(desk.item("K-12").status == record::ItemStatus::sent_to_maker);
    const std::string second = desk.open_hold("K-12", "back from the maker with a note").number;
    desk.give_verdict(second,
                      sample::verdict_order(record::VerdictKind::retire_and_destroy, "the maker's note"));
    const Error error = sample::refused_unchanged(desk, [&] { desk.open_hold("K-12", "fuzz"); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what == "it is retired and out of service for good");
}

TEST_CASE("An unknown hold is told by every action") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    sample::open_hold(desk);
    const std::string none = "H-2026-0077";
    record::Finding finding;
    finding.kind = "stiff";
    for (const auto& action : std::vector<std::function<void()>>{
             [&] { static_cast<void>(desk.case_file(none)); },
             [&] { desk.add_finding(none, finding); },
             [&] { desk.add_photo(none, sample::photo_order(record::PhotoRole::label, 1)); },
             [&] { desk.waive_view(none, record::PhotoRole::label, "worn off"); },
             [&] { desk.mark_ready(none); },
             [&] { desk.make_query(none, sample::query_order()); },
             [&] { desk.mark_sent(none, 1); },
             [&] { desk.add_reply(none, sample::bytes_of("a||b|c"), "r.eml"); },
             [&] { desk.enter_answer(none, 1, sample::answer(record::MakersAnswer::fit)); },
             [&] { desk.give_verdict(none, sample::verdict_order(record::VerdictKind::retire_and_destroy)); },
         }) {
        const Error error = sample::refused_unchanged(desk, action);
        CHECK(error.fault == Fault::input);
        CHECK(error.sentence() ==
              "hold H-2026-0077: there is no such hold; look up its number in the list of holds");
    }
}

TEST_CASE("After the verdict the case is closed for every action but a late reply") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, record::MakersAnswer::not_fit);
    desk.give_verdict(hold, sample::verdict_order(record::VerdictKind::retire_and_destroy));
    record::Finding finding;
    finding.kind = "stiff";
    for (const auto& action : std::vector<std::function<void()>>{
             [&] { desk.add_finding(hold, finding); },
             [&] { desk.add_photo(hold, sample::photo_order(record::PhotoRole::second_view, 77)); },
             [&] { desk.waive_view(hold, record::PhotoRole::label, "worn off"); },
             [&] { desk.mark_ready(hold); },
             [&] { desk.make_query(hold, sample::query_order()); },
             [&] { desk.mark_sent(hold, 1); },
             [&] { desk.enter_answer(hold, 1, sample::answer(record::MakersAnswer::fit)); },
             [&] {
                 desk.give_verdict(
                     hold, sample::verdict_order(record::VerdictKind::return_to_service, "changed my mind"));
             },
         })
        CHECK(sample::refused_unchanged(desk, action).fault == Fault::refused);
    CHECK(desk.item("K-12").status == record::ItemStatus::retired);
    CHECK(desk.add_reply(hold, sample::bytes_of("9@brandelvoss.example||late|sorry"), "late.eml").number ==
          2);
    sample::check_sound(desk);
}

TEST_CASE("Holds are found by words, state and number") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string first = sample::asked_hold(desk);
    record::Item sling;
    sling.mark = "S-1";
    sling.kind = record::Kind::sewn_sling;
    sling.maker = "Kestrel Loom";
    sling.model = "Broadleaf 25";
    desk.add_item(sling);
    folder.move_clock(std::chrono::hours(1));
    const std::string second = desk.open_hold("S-1", "a nick").number;
    CHECK(desk.find_holds({}).size() == 2);
    HoldFilter filter;
    filter.text = "kestrel";
    REQUIRE(desk.find_holds(filter).size() == 1);
    CHECK(desk.find_holds(filter).front().hold.number == second);
    CHECK(desk.find_holds(filter).front().model == "Broadleaf 25");
    filter.text.clear();
    filter.state = HoldState::asked;
    REQUIRE(desk.find_holds(filter).size() == 1);
    CHECK(desk.find_holds(filter).front().reply_due == record::sample::day("2026-03-14"));
    CHECK_FALSE(desk.find_holds(filter).front().overdue);
    folder.move_clock(std::chrono::hours(24 * 14));
    CHECK_FALSE(desk.find_holds(filter).front().overdue);
    folder.move_clock(std::chrono::hours(24));
    CHECK(desk.find_holds(filter).front().overdue);
    HoldFilter running;
    running.running_only = true;
    CHECK(desk.find_holds(running).front().hold.number == first);
    desk.give_verdict(first, sample::verdict_order(record::VerdictKind::retire_and_destroy, "no reply"));
    CHECK(desk.find_holds(running).size() == 1);
    HoldFilter by_number;
    by_number.text = "h-2026-0001";
    CHECK(desk.find_holds(by_number).size() == 1);
}

}  // namespace frayhold::desk
