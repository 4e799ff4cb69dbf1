// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"

namespace frayhold::desk {

using record::HoldState;
using record::MakersAnswer;
using sample::bytes_of;

TEST_CASE("A query before the evidence is ready is refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    const Error error =
        sample::refused_unchanged(desk, [&] { desk.make_query(hold, sample::query_order()); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what.find("the maker cannot be asked yet: no photo of the label yet") == 0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.mark_sent(hold, 1); }).fault == Fault::refused);
}

TEST_CASE("An order that cannot be is refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    QueryOrder order = sample::query_order();
    order.to = " ";
    CHECK(sample::refused_unchanged(desk, [&] { desk.make_query(hold, order); }).where == "to");
    order = sample::query_order();
    for (const int days : {0, -1, 367}) {
        order.reply_days = days;
        CHECK(sample::refused_unchanged(desk, [&] { desk.make_query(hold, order); }).where ==
              "days to reply");
    }
}

TEST_CASE("What was sent is kept byte for byte, once") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    QueryOrder order = sample::query_order();
    order.reply_days = 21;
    const record::Query made = desk.make_query(hold, order);
    CHECK(made.message_id == hold + ".1@korrel.example");
    CHECK_FALSE(made.sent.has_value());
    const std::vector<std::byte> bytes = desk.kept_bytes(made.sha256);

    CHECK(sample::refused_unchanged(desk, [&] { desk.mark_sent(hold, 2); }).fault == Fault::input);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.mark_sent(hold, 1, record::sample::at("2026-02-28T09:29:59Z"));
          }).fault == Fault::input);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.mark_sent(hold, 1, record::sample::at("2026-02-28T09:30:01Z"));
          }).what == "the time sent lies ahead");
    folder.move_clock(std::chrono::hours(24));
    const record::Query sent = desk.mark_sent(hold, 1, record::sample::at("2026-02-28T23:59:59Z"));
    CHECK(sent.reply_due == record::sample::day("2026-03-21"));
    CHECK(sent.sent_by == record::sample::keeper);
    const Error twice = sample::refused_unchanged(desk, [&] { desk.mark_sent(hold, 1); });
    CHECK(twice.fault == Fault::refused);
    CHECK(twice.what == "it was already sent on 2026-02-28T23:59:59Z");
    CHECK(desk.case_file(hold).queries == std::vector<record::Query>{sent});
    CHECK(desk.kept_bytes(sent.sha256) == bytes);
}

TEST_CASE("A reminder is a further query, and moves the day the reply is due") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    CHECK(desk.overdue_replies().empty());
    folder.move_clock(std::chrono::hours(24 * 14));
    REQUIRE(desk.overdue_replies().size() == 1);
    CHECK(desk.overdue_replies()[0].days_overdue == 0);
    folder.move_clock(std::chrono::hours(24 * 3));
    CHECK(desk.overdue_replies()[0].days_overdue == 3);
    CHECK(desk.overdue_replies()[0].query.number == 1);
    CHECK(desk.overdue_replies()[0].hold.number == hold);
    CHECK(desk.make_query(hold, sample::query_order()).number == 2);
    CHECK(desk.overdue_replies().size() == 1);
    desk.mark_sent(hold, 2);
    CHECK(desk.overdue_replies().empty());
    CHECK(desk.case_file(hold).hold.state == HoldState::asked);
    folder.move_clock(std::chrono::hours(24 * 20));
    CHECK(desk.overdue_replies().at(0).query.number == 2);
    CHECK(desk.overdue_replies().at(0).days_overdue == 6);
}

TEST_CASE("A reply finds its hold by what it answers") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    const std::string message = sample::message(hold, "We are looking into it.");
    folder.move_clock(std::chrono::hours(24 * 20));
    REQUIRE(desk.overdue_replies().size() == 1);
    const record::Reply reply = desk.add_reply("", bytes_of(message), "reply.eml");
    CHECK(reply.hold == hold);
    CHECK(reply.text == "We are looking into it.");
    CHECK(reply.received == *folder.now);
    CHECK(sample::text_of(desk.kept_bytes(reply.sha256)) == message);
    REQUIRE(reply.attachments.size() == 1);
    CHECK(sample::text_of(desk.kept_bytes(reply.attachments[0].sha256)) == "pdf of 1@brandelvoss.example");
    // It waits to be read, no longer for the maker.
    CHECK(desk.overdue_replies().empty());
    CHECK(desk.find_holds({}).front().reply_to_read);

    // The same message again is the same reply.
    const std::size_t entries = desk.journal({}).size();
    CHECK(desk.add_reply("", bytes_of(message), "again.eml") == reply);
    CHECK(desk.add_reply(hold, bytes_of(message), "again.eml") == reply);
    CHECK(desk.journal({}).size() == entries);
    CHECK(desk.case_file(hold).replies.size() == 1);
}

TEST_CASE("A reply that answers nothing known needs its hold named") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    const std::string message = "5@brandelvoss.example||About your rope|Hello";
    const Error error =
        sample::refused_unchanged(desk, [&] { desk.add_reply("", bytes_of(message), "mail.eml"); });
    CHECK(error.sentence() ==
          "mail.eml: it answers no query that is known here; name the hold it belongs to");
    CHECK(desk.add_reply(hold, bytes_of(message), "mail.eml").hold == hold);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.add_reply(hold, bytes_of("nothing"), "x.eml");
          }).fault == Fault::input);
}

TEST_CASE("A reply is dated by its sender where that can be") {
    const sample::DeskFolder folder;
    Setup setup = folder.setup();
    const auto date = std::make_shared<std::optional<Time>>();
    setup.read_reply = [date](std::span<const std::byte> message, const std::string& name) {
        ReadReply reply = sample::read_reply(message, name);
        reply.date = *date;
        return reply;
    };
    Desk desk(setup);
    const std::string hold = sample::asked_hold(desk);
    folder.move_clock(std::chrono::hours(72));
    *date = record::sample::at("2026-03-01T07:00:00Z");
    CHECK(desk.add_reply(hold, bytes_of("1@x|||a"), "a.eml").received == **date);
    *date = record::sample::at("2036-03-01T07:00:00Z");
    CHECK(desk.add_reply(hold, bytes_of("2@x|||a"), "a.eml").received == *folder.now);
}

TEST_CASE("An absence notice is kept, is no answer, and the reply stays due") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    const record::Reply notice = desk.add_reply(
        "", bytes_of(sample::message(hold, "away until Monday", "absence notice")), "away.eml");
    CHECK(notice.automatic);
    const Error error = sample::refused_unchanged(
        desk, [&] { desk.enter_answer(hold, notice.number, sample::answer(MakersAnswer::fit)); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what == "reply 1 is an automatic message, not an answer");
    folder.move_clock(std::chrono::hours(24 * 15));
    CHECK(desk.overdue_replies().size() == 1);
    CHECK_FALSE(desk.find_holds({}).front().reply_to_read);
}

TEST_CASE("The answer is entered by a person; a later entry takes its place and both stay in the journal") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.enter_answer(hold, 1, sample::answer(MakersAnswer::fit));
          }).fault == Fault::input);
    desk.add_reply("", bytes_of(sample::message(hold, "fit")), "reply.eml");
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.enter_answer(hold, 1, sample::answer(MakersAnswer::fit_with_limit, " "));
          }).fault == Fault::refused);
    desk.enter_answer(hold, 1, sample::answer(MakersAnswer::fit));
    CHECK(desk.case_file(hold).hold.state == HoldState::answered);
    CHECK_FALSE(desk.find_holds({}).front().reply_to_read);
    folder.move_clock(std::chrono::minutes(1));
    const record::Reply again = desk.enter_answer(hold, 1, sample::answer(MakersAnswer::not_fit));
    CHECK(again.answer->answer == MakersAnswer::not_fit);
    CHECK(again.answer->entered_by == record::sample::keeper);
    CHECK(desk.case_file(hold).makers_answer()->answer == MakersAnswer::not_fit);
    JournalFilter answers;
    answers.action = "answer.enter";
    CHECK(desk.journal(answers).size() == 2);
    sample::check_sound(desk);
}

TEST_CASE("A composer that fails, or a desk without one, changes nothing") {
    const sample::DeskFolder folder;
    Setup setup = folder.setup();
    setup.compose = [](const record::CaseFile&, const QueryOrder&, const KeptBytes&, const std::string&,
                       Time) -> ComposedQuery {
        throw Failure(Fault::input, "language", "there is no letter in this language", "choose another");
    };
    Desk desk(setup);
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    CHECK(sample::refused_unchanged(desk, [&] { desk.make_query(hold, sample::query_order()); }).where ==
          "language");
    setup.compose = nullptr;
    setup.read_reply = nullptr;
    setup.measure = nullptr;
    setup.criteria = nullptr;
    Desk bare(setup);
    CHECK(sample::refused_unchanged(bare, [&] { bare.make_query(hold, sample::query_order()); }).fault ==
          Fault::outside);
    CHECK(sample::refused_unchanged(bare, [&] { bare.add_reply(hold, bytes_of("a|||b"), "x"); }).fault ==
          Fault::outside);
    CHECK(sample::refused_unchanged(bare, [&] {
              bare.add_photo(hold, sample::photo_order(record::PhotoRole::label, 99));
          }).fault == Fault::outside);
    CHECK(sample::refused_unchanged(bare, [&] { bare.add_finding(hold, {}); }).fault == Fault::outside);
}

}  // namespace frayhold::desk
