// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

using sample::bytes_of;

// A folder on a server: what lies in it, by UID from 1 on.
struct Folder {
    std::vector<std::string> mails;
    std::uint32_t validity = 7;
    std::optional<post::FolderMark> asked_from;
    Date since{};
    int cut_after = -1;  // hands over so many, then fails

    ReplyFolder open() {
        return {"imaps://ida@mail.example:993/Gear",
                [this](const post::FetchOrder& order, const std::function<void(post::FetchedMail)>& take) {
                    asked_from = order.read_up_to;
                    since = order.since;
                    const bool known = order.read_up_to && order.read_up_to->uid_validity == validity;
                    const std::uint32_t first = known ? order.read_up_to->last_uid + 1 : 1;
                    for (std::uint32_t uid = first; uid <= mails.size(); ++uid) {
                        if (cut_after-- == 0)
                            throw Failure(Fault::outside, "mail.example", "the connection broke", "try");
                        take({{validity, uid}, bytes_of(mails[uid - 1]), mails[uid - 1].size()});
                    }
                }};
    }
};

}  // namespace

TEST_CASE("Fetched mails go to their hold or wait for a person, each once") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    Folder folder;
    folder.mails = {sample::message(hold, "fit"), "9@x.example||a newsletter|buy", "no message at all"};
    InboxRun run = desk.fetch_replies(folder.open());
    CHECK_FALSE(folder.asked_from);
    CHECK(folder.since == record::sample::day("2026-02-27"));
    REQUIRE(run.placed.size() == 1);
    CHECK(run.placed[0].hold == hold);
    REQUIRE(run.unplaced.size() == 2);
    CHECK(run.unplaced[0].subject == "a newsletter");
    CHECK(run.unplaced[0].why == "it names no one hold that the maker was asked about");
    // What cannot be read is kept all the same, whole.
    CHECK(run.unplaced[1].why == "this is no message");
    CHECK(sample::text_of(desk.kept_bytes(run.unplaced[1].sha256)) == "no message at all");

    run = desk.fetch_replies(folder.open());
    CHECK(folder.asked_from == post::FolderMark{7, 3});
    CHECK((run.placed.empty() && run.unplaced.empty() && run.known == 0));
    // The server numbers its mails anew: all are known.
    folder.validity = 8;
    CHECK(desk.fetch_replies(folder.open()).known == 3);
    CHECK(desk.unplaced_mails().size() == 2);
    CHECK(desk.case_file(hold).replies.size() == 1);
    sample::check_sound(desk);
}

TEST_CASE("A copy of our own query is no reply") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    Folder folder;
    folder.mails = {hold + ".1@korrel.example||[" + hold + "] Arbolane 11|is it fit?"};
    CHECK(desk.fetch_replies(folder.open()).known == 1);
    CHECK(desk.case_file(hold).replies.empty());
    CHECK(desk.unplaced_mails().empty());
}

TEST_CASE("A connection that breaks keeps what came, and the next run goes on behind it") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    Folder folder;
    for (const std::string number : {"1", "2", "3"})
        folder.mails.push_back(number + "@b.example|" + hold + ".1@korrel.example|Re|part " + number);
    folder.cut_after = 2;
    CHECK(testing::failure_of([&] { desk.fetch_replies(folder.open()); }).fault == Fault::outside);
    CHECK(desk.case_file(hold).replies.size() == 2);
    folder.cut_after = -1;
    CHECK(desk.fetch_replies(folder.open()).placed.size() == 1);
    CHECK(folder.asked_from == post::FolderMark{7, 2});
    CHECK(desk.case_file(hold).replies.size() == 3);
}

TEST_CASE("A person places a mail or sets it aside, once") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    Folder folder;
    folder.mails = {"1@b.example||about your rope|fit", "2@x.example||a newsletter|buy"};
    desk.fetch_replies(folder.open());
    const record::Reply reply = desk.place_mail(1, hold);
    CHECK(reply.text == "fit");
    CHECK(sample::text_of(desk.kept_bytes(reply.sha256)) == folder.mails[0]);
    CHECK(desk.unplaced_mails().size() == 1);
    CHECK(sample::refused_unchanged(desk, [&] { desk.place_mail(1, hold); }).what ==
          "it was placed with " + hold + " already");
    CHECK(sample::refused_unchanged(desk, [&] { desk.set_mail_aside(2, " "); }).fault == Fault::input);
    CHECK(desk.set_mail_aside(2, "a newsletter").settled_by == record::sample::keeper);
    CHECK(sample::refused_unchanged(desk, [&] { desk.place_mail(2, hold); }).what ==
          "it was set aside already");
    CHECK(sample::refused_unchanged(desk, [&] { desk.place_mail(3, hold); }).what == "there is no such mail");
    CHECK(desk.unplaced_mails(true).size() == 2);
    sample::check_sound(desk);
}

TEST_CASE("A mail that is too large to fetch is named, and cannot be placed") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    const ReplyFolder folder{"imaps://a",
                             [](const post::FetchOrder&, const std::function<void(post::FetchedMail)>& take) {
                                 take({{1, 1}, {}, 73'000'000});
                             }};
    CHECK(desk.fetch_replies(folder).unplaced.at(0).why == "it is too large to be fetched, in MB: 73");
    CHECK(sample::refused_unchanged(desk, [&] { desk.place_mail(1, hold); }).fault == Fault::refused);
    CHECK(desk.set_mail_aside(1, "its pictures were added by hand").settled.has_value());
}

TEST_CASE("A telephone call and pasted words are replies that a person wrote down") {
    const sample::DeskFolder desk_folder;
    Desk desk = desk_folder.open();
    const std::string hold = sample::asked_hold(desk);
    desk_folder.move_clock(std::chrono::hours(5));
    const WordsOrder call{record::ReplyWay::phone, "Mara of Brandel & Voss", "They want to see it.",
                          record::sample::at("2026-02-28T11:00:00Z")};
    const record::Reply reply = desk.add_words(hold, call);
    CHECK(reply.way == record::ReplyWay::phone);
    CHECK(reply.received == call.received);
    CHECK(sample::text_of(desk.kept_bytes(reply.sha256)).ends_with("\n\nThey want to see it."));
    CHECK(desk.add_words(hold, call) == reply);
    desk.enter_answer(hold, 1, sample::answer(record::MakersAnswer::send_it_in));
    CHECK(desk.case_file(hold).hold.state == record::HoldState::answered);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.add_words(hold, {record::ReplyWay::pasted, "", "fit", std::nullopt});
          }).where == "from");
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.add_words(hold, {record::ReplyWay::pasted, "x", " \n", std::nullopt});
          }).where == "words");
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.add_words(hold,
                             {record::ReplyWay::phone, "x", "y", record::sample::at("2027-01-01T00:00:00Z")});
          }).where == "when");
}

}  // namespace frayhold::desk
