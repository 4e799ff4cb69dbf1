// SPDX-License-Identifier: Apache-2.0
#include "post/imap.h"

#include <catch2/catch.hpp>
#include <sstream>

#include "post/imap_response.h"
#include "post/mail_servers.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

using mail_servers::servers;

const Date long_ago = Date(std::chrono::year(2020), std::chrono::month(1), std::chrono::day(1));

std::string text_of(const std::vector<std::byte>& bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

std::vector<FetchedMail> fetched(const MailAccount& account, const FetchOrder& order) {
    std::vector<FetchedMail> all;
    fetch_by_imap(account, order, [&](FetchedMail mail) { all.push_back(std::move(mail)); });
    return all;
}

std::string words_of(const MailAccount& account) {
    try {
        (void)fetched(account, {.since = long_ago});
    } catch (const Failure& failure) {
        return failure.error().what;
    }
    return "";
}

// Responses as a server sends them, a few bytes at a time.
ImapReader reader_of(const std::string& text, const ImapLimits& limits = {}) {
    auto at = std::make_shared<std::istringstream>(text);
    return {[at](std::span<char> room) {
                constexpr std::streamsize piece = 3;
                at->read(room.data(), piece);
                return static_cast<std::size_t>(at->gcount());
            },
            "a test", limits};
}

}  // namespace

TEST_CASE("Dovecot's folder is read from where it was left, and left as it is") {
    MailAccount account = servers().account(Tls::from_start);
    account.folder = "Gear";
    // A line like the server's own last word must not end the mail.
    const std::string first =
        "Subject: one\r\nDate: Mon, 2 Mar 2026 08:00:00 +0000\r\n\r\nHello\r\nF4 OK done\r\n* 1 FETCH\r\n";
    servers().drop(first, ".Gear");
    std::vector<FetchedMail> mails = fetched(account, {.since = long_ago});
    REQUIRE(mails.size() == 1);
    CHECK(text_of(mails[0].bytes) == first);
    CHECK(mails[0].size_bytes == first.size());
    const FolderMark mark = mails[0].mark;

    CHECK(fetched(account, {.read_up_to = mark, .since = long_ago}).empty());
    servers().drop("Subject: two\r\n\r\n" + std::string(300'000, 'x') + "\r\n", ".Gear");
    servers().drop("Subject: three\r\n\r\n\r\n", ".Gear");
    account = servers().account(Tls::starttls);
    account.folder = "Gear";
    mails = fetched(account, {.read_up_to = mark, .since = long_ago});
    REQUIRE(mails.size() == 2);
    CHECK(mails[0].mark.last_uid < mails[1].mark.last_uid);
    CHECK(mails[0].mark.last_uid > mark.last_uid);

    // Too large to be fetched: named, not read.
    mails = fetched(account, {.read_up_to = mark, .since = long_ago, .most_bytes = 1000});
    REQUIRE(mails.size() == 2);
    CHECK(mails[0].bytes.size() + mails[1].bytes.size() < 1000);
    CHECK(std::max(mails[0].size_bytes, mails[1].size_bytes) > 300'000);

    // Another validity: all of it again.
    CHECK(
        fetched(account, {.read_up_to = FolderMark{mark.uid_validity + 1, mark.last_uid}, .since = long_ago})
            .size() == 3);
    // None of them is flagged: a Maildir keeps flags behind ":2,".
    REQUIRE(servers().mails(".Gear").size() == 3);
    for (const auto& file : servers().mails(".Gear"))
        CHECK((file.filename().string().find(":2,") == std::string::npos ||
               file.filename().string().ends_with(":2,")));
}

TEST_CASE("A folder's name may hold any sign; one that is not there is named") {
    MailAccount account = servers().account(Tls::from_start);
    account.folder = "Prüfung & \"so\"";
    servers().drop("Subject: s\r\n\r\n", ".Pr&APw-fung &- \"so\"");
    CHECK(fetched(account, {.since = long_ago}).size() == 1);
    account.folder = "Elsewhere";
    CHECK(words_of(account).find("the server has no folder \"Elsewhere\" to read") == 0);
}

TEST_CASE("A wrong certificate or password is refused, and told") {
    MailAccount account = servers().account(Tls::from_start);
    account.ca_file = servers().folder() / "other-ca.pem";
    CHECK(words_of(account) == "the server's certificate is not to be trusted");
    account = servers().account(Tls::starttls);
    ::setenv("FRAYHOLD_TEST_PASSWORD", "wrong", 1);
    account.imap->password = {PasswordSource::Place::environment, "FRAYHOLD_TEST_PASSWORD"};
    CHECK(words_of(account) == "the server refused the user or the password");
    account.imap->port = 1;
    CHECK(words_of(account) == "the server does not answer");
}

TEST_CASE("Responses are taken apart at their literals") {
    ImapReader reader =
        reader_of("* 12 FETCH (UID 7 BODY[] {9}\r\nF1 OK\r\n})\r\nF1 OK done\r\n* SEARCH 4 7 19\r\n");
    ImapResponse response = reader.next();
    CHECK(fetched_body(response) == "F1 OK\r\n})");
    CHECK(number_behind(response, "UID") == 7U);
    CHECK_FALSE(number_behind(response, "UIDVALIDITY"));
    response = reader.next();
    CHECK(response.is_tagged("F1"));
    CHECK_FALSE(response.is_tagged("F"));
}

TEST_CASE(
    "A quoted body, a code in brackets and a search are read; what breaks off or is too long is a fault") {
    ImapReader reader = reader_of(
        "* 1 FETCH (BODY[] \"a \\\"b\\\"\" UID 3)\r\n* OK [UIDVALIDITY 77] fine\r\n* SEARCH 4 7 19\r\n* "
        "SEARCH\r\n"
        "* 2 FETCH (BODY[] NIL)\r\n* 3 FETCH (FLAGS {2}\r\nxx BODY[] {3}\r\nabc)\r\n* 9");
    CHECK(fetched_body(reader.next()) == "a \"b\"");
    CHECK(number_behind(reader.next(), "UIDVALIDITY") == 77U);
    CHECK(searched_uids(reader.next()) == std::vector<std::uint32_t>{4, 7, 19});
    CHECK(searched_uids(reader.next()).empty());
    CHECK_FALSE(fetched_body(reader.next()));
    CHECK(fetched_body(reader.next()) == "abc");
    CHECK_THROWS_AS((void)reader.next(), Failure);
    ImapReader long_line = reader_of(std::string(5000, 'x') + "\r\n", {.max_line_bytes = 1000});
    CHECK_THROWS_AS((void)long_line.next(), Failure);
    ImapReader long_literal = reader_of("* 1 FETCH (BODY[] {99999}\r\n", {.max_literal_bytes = 1000});
    CHECK_THROWS_AS((void)long_literal.next(), Failure);
}

}  // namespace frayhold::post
