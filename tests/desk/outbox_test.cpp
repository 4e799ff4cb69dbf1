// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"
#include "store/post_lock.h"

namespace frayhold::desk {
namespace {

using post::Handed;
using post::SmtpResult;
using post::SmtpSteps;
using record::HoldState;
using record::PostState;

// A query that was made, on a hold that is ready.
std::string ready_hold(Desk& desk) {
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    desk.make_query(hold, sample::query_order());
    return hold;
}

// A server that ends every try in the same way, and counts what it took over.
struct Server {
    SmtpResult result;
    int asked = 0;
    int taken = 0;

    MessageSender sender() {
        return [this](const std::string& to, std::span<const std::byte> message, const SmtpSteps& steps) {
            ++asked;
            CHECK(to == "gear@brandelvoss.example");
            CHECK_FALSE(message.empty());
            const bool handed_over = result.handed == Handed::accepted || result.handed == Handed::unsure;
            if (handed_over) steps.before_handing_over();
            if (result.handed == Handed::accepted) {
                ++taken;
                steps.accepted(result.code, result.words);
            }
            return result;
        };
    }
};

Server server_that(Handed handed, int code = 0, const std::string& words = "as it is") {
    return {{handed, code, words}};
}

record::Posting posting_of(const Desk& desk, const std::string& hold) {
    return desk.case_file(hold).queries.at(0).posting.value();
}

// What ends a program in the middle of a try.
struct Killed {};

}  // namespace

TEST_CASE("A queued query goes out once, is sent, and its reply falls due") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = ready_hold(desk);
    CHECK(desk.queue_query(hold, 1).posting->state == PostState::waiting);
    CHECK(desk.outbox(false).size() == 1);
    CHECK(desk.case_file(hold).hold.state == HoldState::ready);
    folder.move_clock(std::chrono::minutes(3));

    Server server = server_that(Handed::accepted, 250, "queued as 7");
    Desk timer = folder.open("post timer");
    const OutboxRun run = timer.run_outbox(server.sender());
    REQUIRE(run.tried.size() == 1);
    const record::Query sent = desk.case_file(hold).queries.at(0);
    CHECK(run.tried[0].query == sent);
    CHECK(sent.posting->state == PostState::accepted);
    CHECK(sent.sent == *folder.now);
    // On whose word it went, and not who carried it.
    CHECK(sent.sent_by == record::sample::keeper);
    CHECK(sent.reply_due == record::sample::day("2026-03-14"));
    REQUIRE(sent.posting->tries.size() == 1);
    CHECK(sent.posting->tries[0].words == "queued as 7");
    CHECK(sent.posting->tries[0].handing_over.has_value());
    CHECK(desk.case_file(hold).hold.state == HoldState::asked);

    CHECK(desk.run_outbox(server.sender()).tried.empty());
    CHECK(server.taken == 1);
    CHECK(desk.outbox(false).empty());
    CHECK(desk.outbox(true).size() == 1);
    for (const auto& again : std::vector<std::function<void()>>{
             [&] { desk.queue_query(hold, 1); }, [&] { desk.mark_sent(hold, 1); },
             [&] { desk.withdraw_query(hold, 1); },
             [&] { desk.settle_query(hold, 1, PostDecision::send_again); }})
        CHECK(sample::refused_unchanged(desk, again).fault == Fault::refused);
}

TEST_CASE("What is not taken over now waits longer each time, and is given up for a person at last") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = ready_hold(desk);
    desk.queue_query(hold, 1);
    Server server = server_that(Handed::not_now, 450, "greylisted");
    for (int tries = 1; tries < post::most_tries; ++tries) {
        CHECK(desk.run_outbox(server.sender()).tried.size() == 1);
        const record::Posting posting = posting_of(desk, hold);
        CHECK(posting.state == PostState::waiting);
        CHECK(posting.next_try == *folder.now + post::wait_after(tries));
        // Not before its time.
        CHECK(desk.run_outbox(server.sender()).tried.empty());
        folder.move_clock(post::wait_after(tries));
    }
    desk.run_outbox(server.sender());
    CHECK(server.asked == post::most_tries);
    const record::Posting given_up = posting_of(desk, hold);
    CHECK(given_up.state == PostState::refused);
    CHECK(given_up.tries.size() == post::most_tries);
    CHECK(given_up.tries.back().words == "given up after the last try: greylisted");
    CHECK(given_up.tries.front().code == 450);
    sample::check_sound(desk);

    CHECK(sample::refused_unchanged(desk, [&] { desk.settle_query(hold, 1, PostDecision::was_sent); }).what ==
          "the server did not take it");
    desk.settle_query(hold, 1, PostDecision::send_again);
    server.result = {Handed::accepted, 250, "ok"};
    desk.run_outbox(server.sender());
    CHECK(posting_of(desk, hold).state == PostState::accepted);
    CHECK(posting_of(desk, hold).tries.size() == post::most_tries + 1);
}

TEST_CASE("A query that may have been taken over is never sent again but on a person's word") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = ready_hold(desk);
    desk.queue_query(hold, 1);
    Server server = server_that(Handed::unsure);
    CHECK(desk.run_outbox(server.sender()).tried.at(0).query.posting->state == PostState::unsure);
    folder.move_clock(std::chrono::hours(24 * 30));
    CHECK(desk.run_outbox(server.sender()).tried.empty());
    CHECK(server.asked == 1);
    CHECK_FALSE(desk.case_file(hold).queries[0].sent.has_value());

    SECTION("it was sent") {
        const record::Query sent = desk.settle_query(hold, 1, PostDecision::was_sent);
        CHECK(sent.sent == record::sample::at("2026-02-28T09:30:00Z"));
        CHECK(desk.case_file(hold).hold.state == HoldState::asked);
    }
    SECTION("it is sent again, under the same Message-ID") {
        server.result = {Handed::accepted, 250, "ok"};
        desk.settle_query(hold, 1, PostDecision::send_again);
        CHECK(desk.run_outbox(server.sender()).tried.size() == 1);
        CHECK(server.taken == 1);
    }
    SECTION("a message about it proves that it was sent") {
        desk.add_reply("", sample::bytes_of(sample::message(hold, "we have it")), "reply.eml");
        CHECK(posting_of(desk, hold).state == PostState::accepted);
        CHECK(desk.case_file(hold).queries[0].sent.has_value());
    }
    sample::check_sound(desk);
}

TEST_CASE("A program that ends at any step of a try loses nothing and sends nothing twice") {
    const sample::DeskFolder folder;
    const std::string hold = [&] {
        Desk desk = folder.open();
        const std::string made = ready_hold(desk);
        desk.queue_query(made, 1);
        return made;
    }();
    Server server = server_that(Handed::accepted, 250, "ok");
    const auto killed_while = [&](const MessageSender& sender) {
        Desk desk = folder.open();
        CHECK_THROWS_AS(desk.run_outbox(sender), Killed);
    };

    SECTION("before anything was handed over: it waits again") {
        killed_while([](const std::string&, std::span<const std::byte>, const SmtpSteps&) -> SmtpResult {
            throw Killed();
        });
        Desk desk = folder.open();
        CHECK(posting_of(desk, hold).state == PostState::trying);
        const OutboxRun run = desk.run_outbox(server.sender());
        CHECK(run.left_over.at(0).query.posting->state == PostState::waiting);
        CHECK(run.tried.at(0).query.posting->state == PostState::accepted);
        CHECK(server.taken == 1);
        CHECK(posting_of(desk, hold).tries.size() == 2);
        sample::check_sound(desk);
    }
    SECTION("while handing over: nobody can know") {
        killed_while(
            [](const std::string&, std::span<const std::byte>, const SmtpSteps& steps) -> SmtpResult {
                steps.before_handing_over();
                throw Killed();
            });
        Desk desk = folder.open();
        CHECK(desk.run_outbox(server.sender()).left_over.at(0).query.posting->state == PostState::unsure);
        CHECK(server.asked == 0);
        sample::check_sound(desk);
    }
    SECTION("after the server's word was recorded: it is sent") {
        killed_while(
            [](const std::string&, std::span<const std::byte>, const SmtpSteps& steps) -> SmtpResult {
                steps.before_handing_over();
                steps.accepted(250, "ok");
                throw Killed();
            });
        Desk desk = folder.open();
        const OutboxRun run = desk.run_outbox(server.sender());
        CHECK((run.left_over.empty() && run.tried.empty()));
        CHECK(desk.case_file(hold).hold.state == HoldState::asked);
        sample::check_sound(desk);
    }
}

TEST_CASE("A fault of the account stops the run and leaves every query waiting") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = ready_hold(desk);
    desk.queue_query(hold, 1);
    Server server = server_that(Handed::wrong_account, 535, "the server refused the user or the password");
    OutboxRun run = desk.run_outbox(server.sender());
    REQUIRE(run.stopped);
    CHECK(run.stopped->what == "the server refused the user or the password");
    CHECK(posting_of(desk, hold).state == PostState::waiting);
    folder.move_clock(std::chrono::minutes(5));
    run = desk.run_outbox([](const std::string&, std::span<const std::byte>, const SmtpSteps&) -> SmtpResult {
        throw Failure(Fault::input, "account.json", "there is no password", "give one");
    });
    CHECK(run.stopped->what == "there is no password");
    REQUIRE(posting_of(desk, hold).tries.size() == 2);
    CHECK(posting_of(desk, hold).tries[1].words == "account.json: there is no password: give one");
    sample::check_sound(desk);
}

TEST_CASE("A waiting query can be withdrawn and queued anew; a verdict withdraws it") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = ready_hold(desk);
    desk.queue_query(hold, 1);
    CHECK(sample::refused_unchanged(desk, [&] { desk.mark_sent(hold, 1); }).what ==
          "it is in the outbox, waiting to be sent");
    CHECK(desk.withdraw_query(hold, 1).posting->state == PostState::withdrawn);
    Server server = server_that(Handed::accepted, 250, "ok");
    CHECK(desk.run_outbox(server.sender()).tried.empty());
    desk.queue_query(hold, 1);
    desk.give_verdict(
        hold, sample::verdict_order(record::VerdictKind::retire_and_destroy, "not worth waiting for"));
    CHECK(desk.run_outbox(server.sender()).tried.at(0).query.posting->state == PostState::withdrawn);
    CHECK(server.asked == 0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.queue_query(hold, 1); }).fault == Fault::refused);
}

TEST_CASE("One program carries a store's post at a time") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const store::Store same(folder.place.location, *folder.now);
    const store::PostLock other(same);
    Server server = server_that(Handed::accepted);
    CHECK(sample::refused_unchanged(desk, [&] { desk.run_outbox(server.sender()); }).what ==
          "another program is carrying its post");
}

}  // namespace frayhold::desk
