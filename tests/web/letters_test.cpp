// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>

#include "sample_site.h"

// Asking the maker from the bench: the maker's book, what is told, sending, and what comes back.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;
using desk::sample::picture;

namespace {

// A mail account that does as a test says.
struct Account {
    post::SmtpResult result{post::Handed::accepted, 250, "queued"};
    bool breaks_off = false;  // before the last bytes go out
    std::vector<std::string> sent_to;
    std::vector<post::FetchedMail> mails;
};

struct Bench {
    desk::sample::DeskFolder folder;
    std::shared_ptr<Account> account = std::make_shared<Account>();
    Site site{setup()};
    Browser browser{site};
    const std::string hold = "/hold/H-2026-0001";

    [[nodiscard]] SiteSetup setup() const {
        SiteSetup setup = setup_of(folder);
        PostDoor door;
        door.from = "Ida Fenwright <ida@korreltrees.example>";
        door.send = [told = account](const std::string& to, std::span<const std::byte>,
                                     const post::SmtpSteps& steps) {
            if (told->breaks_off)
                throw Failure(Fault::outside, "mail.korreltrees.example", "no connection", "try again");
            told->sent_to.push_back(to);
            steps.before_handing_over();
            if (told->result.handed == post::Handed::accepted)
                steps.accepted(told->result.code, told->result.words);
            return told->result;
        };
        door.replies = desk::ReplyFolder{
            "imap://ida@korreltrees.example/INBOX",
            [told = account](const post::FetchOrder&, const std::function<void(post::FetchedMail)>& take) {
                for (const post::FetchedMail& mail : told->mails) take(mail);
            }};
        setup.post = door;
        setup.outfit = "Korrel Tree Crew";
        return setup;
    }

    void get_ready() {
        folder.open().add_item(record::sample::rope());
        desk::Desk desk = folder.open();
        const std::string number = desk.open_hold("K-12", "fuzzy").number;
        desk::sample::add_all_views(desk, number);
    }
    void write_letter() {
        const Answer made = browser.post(hold + "/ask", {{"to", "gear@brandelvoss.example"},
                                                         {"from", "ida@korreltrees.example"},
                                                         {"ask", "fit"},
                                                         {"reply_days", "14"}});
        REQUIRE(header(made, "Location") == hold + "/query/1");
    }
    [[nodiscard]] record::CaseFile file() const { return folder.open().case_file("H-2026-0001"); }
};

}  // namespace

TEST_CASE_METHOD(Bench, "The ask page is filled in from the maker's book, which is kept by its own page") {
    get_ready();
    CHECK(holds(browser.page(hold + "/ask"), "is not in the maker's book yet"));
    const std::multimap<std::string, std::string> entry{
        {"name", record::sample::rope().maker},
        {"addresses", "gear@brandelvoss.example\r\n\r\nworkshop@brandelvoss.example"},
        {"language", "de"},
        {"mail_limit", "9"},
        {"reply_days", "21"},
        {"note", "closed in August"}};
    REQUIRE(browser.post("/maker", entry).status == 303);
    const record::Maker maker = folder.open().makers().at(0);
    CHECK(maker.addresses.size() == 2);
    CHECK(maker.mail_limit_bytes == 9'000'000);
    const std::string page = browser.page(hold + "/ask");
    for (const char* part :
         {"value=\"gear@brandelvoss.example\"", "<option>workshop@brandelvoss.example</option>",
          "<option selected>de</option>", "value=\"21\"", "value=\"9\"", "closed in August",
          "value=\"Ida Fenwright &lt;ida@korreltrees.example&gt;\"", "value=\"Korrel Tree Crew\""}) {
        CAPTURE(part);
        CHECK(holds(page, part));
    }
    // Changed again, and refused with what was typed left in place.
    CHECK(browser.post("/maker", {{"name", maker.name}, {"addresses", "x@y.example"}, {"language", "en"}})
              .status == 303);
    CHECK_FALSE(folder.open().maker(maker.name).reply_days.has_value());
    const Answer refused = browser.post(
        "/maker", {{"name", maker.name}, {"addresses", "no address"}, {"language", "en"}, {"note", "kept"}});
    CHECK(refused.status == 422);
    CHECK(holds(refused.body, "no address"));
    CHECK(holds(refused.body, ">kept</textarea>"));
    CHECK(holds(browser.page("/post"), "x@y.example"));
}

TEST_CASE_METHOD(Bench,
                 "What the pack tells a stranger is listed before the letter is made and before it goes") {
    get_ready();
    for (const std::string& page :
         {browser.page(hold + "/ask"), (write_letter(), browser.page(hold + "/query/1"))}) {
        CHECK(holds(page, "<dt>Names</dt><dd>Ida Fenwright</dd>"));
        CHECK(holds(page, "mark K-12, maker"));
        CHECK(holds(page, "its place, kit and note"));
    }
    REQUIRE(browser.post(hold + "/query/1/send", {}).status == 303);
    CHECK_FALSE(holds(browser.page(hold + "/query/1"), "<dt>Names</dt>"));
}

TEST_CASE_METHOD(Bench, "Send sends, and the hold waits for the reply") {
    get_ready();
    write_letter();
    CHECK(account->sent_to.empty());
    CHECK(holds(browser.page(hold + "/query/1"), "Send it now"));
    CHECK(header(browser.post(hold + "/query/1/send", {}), "Location") == hold + "/query/1");
    CHECK(account->sent_to == std::vector<std::string>{"gear@brandelvoss.example"});
    CHECK(file().hold.state == record::HoldState::asked);
    CHECK(holds(browser.page(hold), "sent 2026-02-28, reply due 2026-03-14"));
    const Answer again = browser.post(hold + "/query/1/send", {});
    CHECK(again.status == 409);
    CHECK(account->sent_to.size() == 1);
    desk::sample::check_sound(folder.open());
}

TEST_CASE_METHOD(Bench, "A letter that could not go says why, waits, and can be taken back") {
    get_ready();
    write_letter();
    account->breaks_off = true;
    const Answer answer = browser.post(hold + "/query/1/send", {});
    CHECK(answer.status == 500);
    CHECK(holds(answer.body, "no connection"));
    CHECK(holds(answer.body, "waiting to be sent"));
    CHECK(holds(browser.page(hold), "waiting to be sent"));
    CHECK(holds(browser.page("/post"), "H-2026-0001, letter 1"));
    CHECK(browser.post(hold + "/query/1/withdraw", {}).status == 303);
    CHECK(holds(browser.page(hold + "/query/1"), "Send it now"));
    CHECK(file().hold.state == record::HoldState::ready);
    CHECK(browser.post(hold + "/query/1/withdraw", {}).status == 409);
}

TEST_CASE_METHOD(Bench, "Sent or not: nobody knows, until a person says") {
    get_ready();
    write_letter();
    account->result = {post::Handed::unsure, 0, "the connection broke"};
    CHECK(browser.post(hold + "/query/1/send", {}).status == 303);
    const std::string page = browser.page(hold + "/query/1");
    CHECK(holds(page, "It reached them"));
    CHECK(holds(page, "the connection broke"));
    CHECK(file().hold.state == record::HoldState::ready);
    account->result = {post::Handed::accepted, 250, "queued"};
    SECTION("it reached them") {
        CHECK(browser.post(hold + "/query/1/was_sent", {}).status == 303);
        CHECK(account->sent_to.size() == 1);
    }
    SECTION("it is sent again") {
        CHECK(browser.post(hold + "/query/1/again", {}).status == 303);
        CHECK(account->sent_to.size() == 2);
    }
    CHECK(file().hold.state == record::HoldState::asked);
}

TEST_CASE_METHOD(Bench, "What the server will not take is told in its own words") {
    get_ready();
    write_letter();
    account->result = {post::Handed::refused, 552, "552 message too large"};
    CHECK(browser.post(hold + "/query/1/send", {}).status == 303);
    const std::string page = browser.page(hold + "/query/1");
    CHECK(holds(page, "The mail server did not take it"));
    CHECK(holds(page, "552 message too large"));
    CHECK(browser.post(hold + "/query/1/was_sent", {}).status == 409);
    CHECK(browser.post(hold + "/query/1/nonsense", {}).status == 404);
}

TEST_CASE("Without a mail account a letter goes into the outbox or out by hand") {
    const desk::sample::DeskFolder folder;
    Site site(setup_of(folder));
    const Browser browser(site);
    desk::Desk desk = folder.open();
    const std::string number = desk::sample::open_hold(desk);
    desk::sample::add_all_views(desk, number);
    const std::string hold = "/hold/" + number;
    REQUIRE(browser
                .post(hold + "/ask", {{"to", "gear@brandelvoss.example"},
                                      {"from", "ida@korreltrees.example"},
                                      {"ask", "fit"},
                                      {"reply_days", "14"}})
                .status == 303);
    CHECK_FALSE(holds(browser.page(hold + "/query/1"), "Send it now"));
    CHECK(browser.post(hold + "/query/1/send", {}).status == 409);
    CHECK(browser.post(hold + "/query/1/queue", {}).status == 303);
    CHECK(holds(browser.page(hold + "/query/1"), "waiting to be sent"));
    CHECK(browser.post("/post/run", {}).status == 409);
}

TEST_CASE_METHOD(Bench, "Replies are fetched, placed with their holds and shown as a thread") {
    get_ready();
    write_letter();
    REQUIRE(browser.post(hold + "/query/1/send", {}).status == 303);
    const auto mail = [](unsigned number, const std::string& text) {
        post::FetchedMail fetched;
        fetched.mark.last_uid = number;
        fetched.size_bytes = text.size();
        fetched.bytes = desk::sample::bytes_of(text);
        return fetched;
    };
    account->mails = {mail(1, desk::sample::message("H-2026-0001", "please send it in")),
                      mail(2, "9@elsewhere.example||Offer|buy more rope")};
    const Answer ran = browser.post("/post/run", {});
    CHECK(header(ran, "Location") == "/post?sent=0&placed=1&unplaced=1");
    const std::string case_page = browser.page(hold);
    CHECK(holds(case_page, "please send it in"));
    CHECK(holds(case_page, "to be read"));
    CHECK(case_page.find("Letter 1") < case_page.find("Reply 1"));
    const std::string page = browser.page(hold + "/reply/1");
    CHECK(holds(page, "href=\"" + hold + "/query/1\""));

    CHECK(holds(browser.page("/post"), "buy more rope"));
    CHECK(browser.post("/post/mail/1", {{"hold", "H-1999-0001"}}).status == 422);
    CHECK(browser.post("/post/mail/1", {{"aside", "yes"}, {"reason", "an advertisement"}}).status == 303);
    CHECK(browser.post("/post/mail/1", {{"aside", "yes"}, {"reason", "again"}}).status == 409);
    CHECK_FALSE(holds(browser.page("/post"), "buy more rope"));
}

TEST_CASE_METHOD(Bench, "A telephone call is kept as a reply, and a reminder is a letter of its own") {
    get_ready();
    write_letter();
    REQUIRE(browser.post(hold + "/query/1/send", {}).status == 303);
    CHECK(holds(browser.page(hold + "/ask"), "Write a reminder"));
    const Answer reminded = browser.post(
        hold + "/ask",
        {{"to", "gear@brandelvoss.example"}, {"from", "ida@korreltrees.example"}, {"reminder", "yes"}});
    CHECK(header(reminded, "Location") == hold + "/query/2");
    CHECK(browser.post(hold + "/reply", {{"way", "phone"}, {"from", "Mara"}, {"text", ""}}).status == 422);
    const Answer kept =
        browser.post(hold + "/reply", {{"way", "phone"}, {"from", "Mara"}, {"text", "They want to see it."}});
    CHECK(header(kept, "Location") == hold + "/reply/1");
    CHECK(file().replies.at(0).way == record::ReplyWay::phone);
}
