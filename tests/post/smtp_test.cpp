// SPDX-License-Identifier: Apache-2.0
#include "post/smtp.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <thread>

#include "photo/sha256.h"
#include "post/mail_servers.h"
#include "post/query_mail.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

using mail_servers::Scripted;
using mail_servers::servers;
using Bytes = std::vector<std::byte>;

// Lines that begin with dots, and a body long enough for several pieces.
Bytes sample_message(std::size_t attachment_bytes = 200'000) {
    QueryMail mail;
    mail.from = {"Ida Fenwright", "ida@korreltrees.example"};
    mail.to = {"", "gear@brandelvoss.example"};
    mail.hold_number = "H-2026-0001";
    mail.subject = "question about an Arbolane 11";
    mail.message_id = "H-2026-0001.1.x@korreltrees.example";
    mail.body = ".\n..two dots\nGrüße\n.";
    mail.attachments.push_back({"case.pdf", "application/pdf", Bytes(attachment_bytes, std::byte{0x5A})});
    return message_of(mail);
}

struct Sent {
    SmtpResult result;
    int handed_over = 0;
    int accepted = 0;
};

Sent send(const MailAccount& account, const Bytes& message,
          const std::string& to = "gear@brandelvoss.example",
          std::chrono::seconds patience = std::chrono::seconds(20)) {
    Sent sent;
    const SmtpSteps steps{.before_handing_over = [&] { ++sent.handed_over; },
                          .accepted = [&](int, const std::string&) { ++sent.accepted; }};
    sent.result = send_by_smtp(account, {account.from.address, to}, message, steps,
                               {.connecting = patience, .reply = patience});
    CHECK(sent.accepted == (sent.result.handed == Handed::accepted ? 1 : 0));
    CHECK(sent.handed_over <= 1);
    return sent;
}

std::string content(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

}  // namespace

TEST_CASE(
    "Exim takes a message over by TLS, from the first byte or by STARTTLS, and keeps it byte for byte") {
    for (const Tls tls : {Tls::from_start, Tls::starttls}) {
        const Bytes message = sample_message();
        const std::size_t before = servers().mails().size();
        const Sent sent = send(servers().account(tls), message);
        INFO(sent.result.words);
        REQUIRE(sent.result.handed == Handed::accepted);
        CHECK(sent.result.code == 250);
        CHECK(sent.handed_over == 1);
        for (int wait = 0; wait < 200 && servers().mails().size() == before; ++wait)
            std::this_thread::sleep_for(std::chrono::milliseconds(25));
        REQUIRE(servers().mails().size() == before + 1);
        std::string as_sent(reinterpret_cast<const char*>(message.data()), message.size());
        std::erase(as_sent, '\r');
        bool found = false;
        for (const auto& file : servers().mails()) {
            const std::string kept = content(file);
            // Behind the fields that servers put on top.
            found = found || (kept.size() > as_sent.size() && kept.ends_with(as_sent));
        }
        CHECK(found);
    }
}

TEST_CASE(
    "A certificate that another authority made, or for another name, is refused before anything is said") {
    MailAccount account = servers().account(Tls::from_start);
    account.ca_file = servers().folder() / "other-ca.pem";
    for (const char* host : {"localhost", "127.0.0.1"}) {
        account.smtp->host = host;
        const Sent sent = send(account, sample_message());
        CHECK(sent.result.handed == Handed::wrong_account);
        CHECK(sent.result.words == "the server's certificate is not to be trusted");
        CHECK(sent.handed_over == 0);
        account.ca_file = servers().folder() / "ca.pem";
    }
}

TEST_CASE("A wrong password, and a recipient or size that Exim refuses, are told apart") {
    MailAccount account = servers().account(Tls::starttls);
    const Sent refused = send(account, sample_message(), "nobody-here@brandelvoss.example");
    CHECK(refused.result.handed == Handed::refused);
    CHECK(refused.result.code == 550);
    CHECK(refused.result.words == "no such mailbox here");
    CHECK(refused.handed_over == 0);

    // Exim says that it takes 25 MB; in base64, 19 MB are more.
    const Sent large = send(account, sample_message(19'500'000));
    CHECK(large.result.handed == Handed::refused);
    CHECK(large.result.words == "the mail is larger than the server takes, in MB: 26.2");
    CHECK(large.handed_over == 0);

    ::setenv("FRAYHOLD_TEST_PASSWORD", "wrong", 1);
    account.smtp->password = {PasswordSource::Place::environment, "FRAYHOLD_TEST_PASSWORD"};
    const Sent denied = send(account, sample_message());
    CHECK(denied.result.handed == Handed::wrong_account);
    CHECK(denied.result.code == 535);
    CHECK(denied.result.words.find("the server refused the user or the password") == 0);
}

TEST_CASE("Whatever a server does at each stage, only its reply to the whole message counts") {
    struct Case {
        std::string script;
        Handed handed;
        int code;
        int handed_over;
    };
    const std::vector<Case> cases{
        {"cut:greeting", Handed::not_now, 0, 0},
        {"cut:ehlo", Handed::not_now, 0, 0},
        {"cut:auth", Handed::not_now, 0, 0},
        {"cut:mail", Handed::not_now, 0, 0},
        {"cut:rcpt", Handed::not_now, 0, 0},
        {"cut:data", Handed::not_now, 0, 0},
        {"cut:dot", Handed::unsure, 0, 1},
        {"half:dot", Handed::unsure, 0, 1},
        {"accept_unheard", Handed::unsure, 0, 1},
        {"accept_and_cut", Handed::accepted, 250, 1},
        {"cut:quit", Handed::accepted, 250, 1},
        {"say:greeting:421 closing down", Handed::not_now, 421, 0},
        {"say:greeting:554 no service", Handed::not_now, 554, 0},
        {"say:auth:454 later", Handed::not_now, 454, 0},
        {"say:auth:535 no", Handed::wrong_account, 535, 0},
        {"say:mail:451 busy", Handed::not_now, 451, 0},
        {"say:mail:530 log in first", Handed::wrong_account, 530, 0},
        {"say:mail:553 not you", Handed::refused, 553, 0},
        {"say:rcpt:450 greylisted", Handed::not_now, 450, 0},
        {"say:rcpt:452 mailbox full", Handed::not_now, 452, 0},
        {"say:rcpt:550 no such mailbox", Handed::refused, 550, 0},
        {"say:rcpt:552 mailbox full", Handed::refused, 552, 0},
        {"say:data:451 not now", Handed::not_now, 451, 0},
        {"say:data:554 no", Handed::refused, 554, 0},
        {"say:dot:451 try again", Handed::not_now, 451, 1},
        {"say:dot:452 mailbox full", Handed::not_now, 452, 1},
        {"say:dot:552 message too large", Handed::refused, 552, 1},
        {"say:dot:554 looks like a virus", Handed::refused, 554, 1},
        {"size:1000", Handed::refused, 0, 0},
        {"ok", Handed::accepted, 250, 1},
    };
    std::vector<std::string> scripts;
    for (const Case& each : cases) scripts.push_back(each.script);
    Scripted server(scripts);
    const Bytes message = sample_message(20'000);
    for (const Case& each : cases) {
        INFO(each.script);
        const Sent sent = send(server.account(), message);
        INFO(sent.result.words);
        CHECK(sent.result.handed == each.handed);
        CHECK(sent.result.code == each.code);
        CHECK(sent.handed_over == each.handed_over);
        CHECK_FALSE(sent.result.words.empty());
    }
    // "accept_unheard", "accept_and_cut", "cut:quit" and "ok", each byte for byte.
    const std::string accepted = "accepted " + photo::sha256_hex(message);
    for (int i = 0; i < 4; ++i) server.wait_for(accepted);
}

TEST_CASE("A connection that is cut in the middle of the message hands nothing over") {
    Scripted server({"cut:body"});
    const Sent sent = send(server.account(), sample_message(30'000'000));
    CHECK(sent.result.handed == Handed::not_now);
    CHECK(sent.handed_over == 0);
}

TEST_CASE("A server that falls silent is given up: before the end as not now, at the end as unsure") {
    Scripted server({"hang:rcpt"});
    CHECK(send(server.account(), sample_message(), "a@b.example", std::chrono::seconds(1)).result.handed ==
          Handed::not_now);
    Scripted last({"hang:dot"});
    CHECK(send(last.account(), sample_message(), "a@b.example", std::chrono::seconds(1)).result.handed ==
          Handed::unsure);
}

TEST_CASE("Nothing is said to a server without TLS") {
    Scripted server({"plain"});
    MailAccount account = server.account();
    account.smtp->tls = Tls::starttls;
    const Sent sent = send(account, sample_message());
    CHECK(sent.result.handed == Handed::wrong_account);
    CHECK(sent.result.words == "the server offers no TLS");
}

TEST_CASE("What a step throws ends the sending before the server can take the message over") {
    Scripted server({"ok", "ok"});
    const Bytes message = sample_message();
    const SmtpSteps full{
        .before_handing_over = [] { throw Failure(Fault::outside, "disk", "it is full", "make room"); },
        .accepted = [](int, const std::string&) { FAIL("nothing was handed over"); }};
    CHECK_THROWS_AS((void)send_by_smtp(server.account(), {"a@b.example", "c@d.example"}, message, full),
                    Failure);
    CHECK(send(server.account(), message).result.handed == Handed::accepted);
    const std::vector<std::string> told = server.wait_for("accepted " + photo::sha256_hex(message));
    CHECK(std::count(told.begin(), told.end(), "at dot") == 1);
}

TEST_CASE("The waits between tries grow and add up to five days") {
    std::chrono::seconds all{0};
    for (int tries = 1; tries < most_tries; ++tries) {
        CHECK(wait_after(tries) <= wait_after(tries + 1));
        all += wait_after(tries);
    }
    CHECK(wait_after(1) == std::chrono::minutes(5));
    CHECK(all >= std::chrono::hours(24 * 4 + 12));
    CHECK(all <= std::chrono::hours(24 * 5));
}

}  // namespace frayhold::post
