// SPDX-License-Identifier: Apache-2.0
#include "desk/due_dates.h"
#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

record::Maker maker_of_rope() {
    record::Maker maker;
    maker.name = record::sample::rope().maker;
    maker.addresses = {"Gear desk <gear@brandelvoss.example>", "office@brandelvoss.example"};
    maker.language = "de";
    maker.mail_limit_bytes = 10'000'000;
    maker.reply_days = 21;
    return maker;
}

std::string hold_with_all_views(Desk& desk) {
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    return hold;
}

}  // namespace

TEST_CASE("A maker is entered once, changed, and listed by name") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Maker maker = maker_of_rope();
    desk.add_maker(maker);
    CHECK(sample::refused_unchanged(desk, [&] { desk.add_maker(maker); }).fault == Fault::refused);
    maker = desk.edit_maker(maker.name, [](record::Maker& entry) {
        entry.name = "another";
        entry.reply_days = std::nullopt;
    });
    CHECK(maker.name == maker_of_rope().name);
    CHECK_FALSE(desk.maker(maker.name).reply_days);
    record::Maker first = maker_of_rope();
    first.name = "Aster & Sons";
    desk.add_maker(first);
    REQUIRE(desk.makers().size() == 2);
    CHECK(desk.makers()[0] == first);
    CHECK(sample::refused_unchanged(desk, [&] { desk.edit_maker("nobody", [](record::Maker&) {}); }).fault ==
          Fault::input);
    sample::check_sound(desk);
}

TEST_CASE("An entry that cannot be used is refused, naming the field") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const auto refused = [&](const std::function<void(record::Maker&)>& spoil) {
        record::Maker maker = maker_of_rope();
        spoil(maker);
        return sample::refused_unchanged(desk, [&] { desk.add_maker(maker); }).where;
    };
    CHECK(refused([](record::Maker& maker) { maker.name = " "; }) == "maker");
    CHECK(refused([](record::Maker& maker) { maker.addresses.clear(); }) == "address");
    CHECK(refused([](record::Maker& maker) { maker.addresses = {"nobody"}; }) == "address");
    CHECK(refused([](record::Maker& maker) { maker.language = ""; }) == "language");
    CHECK(refused([](record::Maker& maker) { maker.mail_limit_bytes = 5000; }) == "mail limit");
    CHECK(refused([](record::Maker& maker) { maker.reply_days = 0; }) == "days to reply");
}

TEST_CASE("A query takes from the maker's book what its order leaves open") {
    const sample::DeskFolder folder;
    Setup setup = folder.setup();
    const auto asked = std::make_shared<QueryOrder>();
    setup.compose = [asked](const record::CaseFile& file, const QueryOrder& order, const KeptBytes& bytes,
                            const std::string& who, Time now) {
        *asked = order;
        return sample::compose(file, order, bytes, who, now);
    };
    Desk desk(setup);
    const std::string hold = hold_with_all_views(desk);
    QueryOrder order;
    order.from = "ida@korrel.example";
    // An empty book: the address must be given, the rest is usual.
    CHECK(sample::refused_unchanged(desk, [&] { desk.make_query(hold, order); }).where == "to");
    desk.make_query(hold, sample::query_order());
    CHECK(asked->language == "en");
    CHECK(asked->reply_days == usual_reply_days);
    CHECK_FALSE(asked->mail_limit_bytes);

    desk.add_maker(maker_of_rope());
    CHECK(desk.make_query(hold, order).to == "Gear desk <gear@brandelvoss.example>");
    CHECK(asked->language == "de");
    CHECK(asked->reply_days == 21);
    CHECK(asked->mail_limit_bytes == 10'000'000);
    CHECK(desk.mark_sent(hold, 2).reply_due == record::sample::day("2026-03-21"));

    order = sample::query_order();
    order.language = "fr";
    order.reply_days = 3;
    order.mail_limit_bytes = 2'000'000;
    CHECK(desk.make_query(hold, order).to == "gear@brandelvoss.example");
    CHECK(asked->language == "fr");
    CHECK(asked->reply_days == 3);
    CHECK(asked->mail_limit_bytes == 2'000'000);
}

TEST_CASE("A reminder follows what was sent; every awaited reply has its day in the calendar") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = hold_with_all_views(desk);
    QueryOrder reminder = sample::query_order();
    reminder.reminder = true;
    CHECK(sample::refused_unchanged(desk, [&] { desk.make_query(hold, reminder); }).what ==
          "there is nothing to remind the maker of");
    CHECK(desk.awaited_replies().empty());
    desk.make_query(hold, sample::query_order());
    desk.mark_sent(hold, 1);
    REQUIRE(desk.awaited_replies().size() == 1);
    CHECK(desk.awaited_replies()[0].days_overdue == -14);
    const std::string calendar = calendar_of(desk.awaited_replies(), *folder.now);
    CHECK(calendar.find("UID:" + hold + ".reply-due@korrel.example\r\n") != std::string::npos);
    CHECK(calendar.find("DTSTART;VALUE=DATE:20260314\r\n") != std::string::npos);
    folder.move_clock(std::chrono::hours(24 * 15));
    CHECK(record::next_step(desk.case_file(hold), desk.today())
              .find("The reply has been due since 2026-03-14") == 0);
    desk.make_query(hold, reminder);
    desk.mark_sent(hold, 2);
    CHECK(record::next_step(desk.case_file(hold), desk.today()) == "Wait for the maker's reply.");
    // The entry of the hold moves: the same key, another day.
    const std::string moved = calendar_of(desk.awaited_replies(), *folder.now);
    CHECK(moved.find("UID:" + hold + ".reply-due@korrel.example\r\n") != std::string::npos);
    CHECK(moved.find("DTSTART;VALUE=DATE:20260329\r\n") != std::string::npos);
}

}  // namespace frayhold::desk
