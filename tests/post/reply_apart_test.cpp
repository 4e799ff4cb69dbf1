// SPDX-License-Identifier: Apache-2.0
#include "post/reply_apart.h"

#include <fcntl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "record/temp_folder.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

ReplyMail apart_by(const MailParser& parse, const photo::ApartLimits& limits = usual_apart_limits()) {
    return parse_apart_with(parse, bytes_of("x"), "a.eml", {}, limits);
}

// What the child saw of the world, told by the subject of the mail it makes.
std::string told_by(const std::function<std::string()>& tell) {
    return apart_by([&](std::span<const std::byte>, const std::string&, const MailLimits&) {
               ReplyMail mail;
               mail.subject = tell();
               return mail;
           })
        .subject;
}

std::string failure_by(const MailParser& parse, const photo::ApartLimits& limits) {
    try {
        (void)apart_by(parse, limits);
    } catch (const Failure& failure) {
        CHECK(failure.error().fault == Fault::input);
        return failure.error().what;
    }
    return "";
}

}  // namespace

TEST_CASE("A mail read apart is the mail read here, in every field") {
    const std::vector<std::string> mails{
        "From: \"Gear desk\" <gear@brandelvoss.example>\r\nTo: ida+h-2026-0001@k.example, "
        "b@k.example\r\nSubject: "
        "=?utf-8?q?Gr=C3=BC=C3=9Fe?=\r\nDate: Mon, 2 Mar 2026 08:00:00 +0100\r\nMessage-ID: <1@b.example>\r\n"
        "In-Reply-To: <q1@k.example>\r\nReferences: <q0@k.example> <q1@k.example>\r\nMIME-Version: 1.0\r\n"
        "Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/html; "
        "charset=iso-2022-jp\r\n\r\n"
        "<p>\x1b$B%m!<%W\x1b(B</p>\r\n--b\r\nContent-Type: application/pdf; name=\"a.pdf\"\r\n"
        "Content-Transfer-Encoding: base64\r\n\r\nAAECAw==\r\n--b--\r\n",
        "From: mailer@b.example\r\nSubject: failed\r\nMIME-Version: 1.0\r\nContent-Type: multipart/report; "
        "report-type=delivery-status; boundary=b\r\n\r\n--b\r\n\r\nIt failed.\r\n--b\r\nContent-Type: "
        "message/delivery-status\r\n\r\nReporting-MTA: dns; b.example\r\n\r\nFinal-Recipient: rfc822; "
        "gear@b.example\r\n"
        "Action: failed\r\nStatus: 5.1.1\r\nDiagnostic-Code: smtp; 550 no such "
        "mailbox\r\n\r\n--b\r\nContent-Type: "
        "text/rfc822-headers\r\n\r\nMessage-ID: <q1@k.example>\r\n\r\n--b--\r\n",
        "From: a@b.example\r\nAuto-Submitted: auto-replied\r\n\r\naway\r\n"};
    for (const std::string& text : mails) {
        const std::vector<std::byte> bytes = bytes_of(text);
        const ReplyMail here = parse_reply(bytes, "a.eml");
        const ReplyMail apart = parse_reply_apart(bytes, "a.eml");
        CHECK(apart.from == here.from);
        CHECK(apart.to == here.to);
        CHECK(apart.subject == here.subject);
        CHECK(apart.date == here.date);
        CHECK(apart.message_id == here.message_id);
        CHECK(apart.in_reply_to == here.in_reply_to);
        CHECK(apart.references == here.references);
        CHECK(apart.text == here.text);
        CHECK(apart.text_from_html == here.text_from_html);
        CHECK(apart.kind == here.kind);
        REQUIRE(apart.attachments.size() == here.attachments.size());
        for (std::size_t i = 0; i < here.attachments.size(); ++i) {
            CHECK(apart.attachments[i].file_name == here.attachments[i].file_name);
            CHECK(apart.attachments[i].bytes == here.attachments[i].bytes);
        }
        REQUIRE(apart.delivery.has_value() == here.delivery.has_value());
        if (here.delivery) CHECK(apart.delivery->original_message_id == here.delivery->original_message_id);
    }
}

TEST_CASE("What is no mail is refused in the same words") {
    try {
        (void)parse_reply_apart(bytes_of("%PDF-1.4 nothing\n"), "case.pdf");
        FAIL("it was read");
    } catch (const Failure& failure) {
        CHECK(failure.error().sentence() ==
              "case.pdf: it is not a mail: no sender, date or subject stands at its head; save the mail as "
              "an .eml "
              "file from the mail program");
    }
}

TEST_CASE("The reader can write no file, reach no network and start no program") {
    const testing::TempFolder folder;
    const std::string file = (folder.path() / "kept").string();
    std::ofstream(file) << "kept";
    const auto result_of = [](int result) {
        return std::string(result >= 0 ? "done" : errno == EACCES ? "forbidden" : "failed");
    };
    CHECK(told_by([&] { return result_of(::open(file.c_str(), O_WRONLY | O_TRUNC)); }) == "forbidden");
    CHECK(told_by([&] { return result_of(::open((file + "2").c_str(), O_RDWR | O_CREAT, 0600)); }) ==
          "forbidden");
    CHECK(told_by([&] { return result_of(::unlink(file.c_str())); }) == "forbidden");
    CHECK(told_by([&] { return result_of(::socket(AF_INET, SOCK_STREAM, 0)); }) == "forbidden");
    CHECK(told_by([&] { return result_of(static_cast<int>(::write(STDOUT_FILENO, "x", 1))); }) ==
          "forbidden");
    CHECK(told_by([&] { return result_of(::execl("/bin/true", "true", nullptr)); }) == "forbidden");
    CHECK(told_by([&] { return result_of(::fork()); }) == "forbidden");
    CHECK(told_by([&] { return result_of(::open(file.c_str(), O_RDONLY)); }) == "done");
    CHECK(std::filesystem::file_size(file) == 4);
}

TEST_CASE("A reader that takes too long, too much or dies is told, and takes nothing with it") {
    const std::string words = "reading it took too much time or memory, or broke the reader";
    const photo::ApartLimits tight{
        .child = {.memory_bytes = 64UL * 1024 * 1024, .processor = std::chrono::seconds(1)},
        .clock = std::chrono::seconds(2)};
    CHECK(failure_by([](auto, auto&, auto&) -> ReplyMail { std::abort(); }, tight) == words);
    CHECK(failure_by(
              [](auto, auto&, auto&) -> ReplyMail {
                  ::raise(SIGSEGV);
                  return {};
              },
              tight) == words);
    CHECK(failure_by(
              [](auto, auto&, auto&) -> ReplyMail {
                  std::atomic<int> turns{0};
                  while (turns >= 0) turns = 1;
                  return {};
              },
              tight) == words);
#ifndef __SANITIZE_ADDRESS__
    CHECK(failure_by(
              [](auto, auto&, auto&) -> ReplyMail {
                  ReplyMail mail;
                  mail.text.assign(200UL * 1024 * 1024, 'x');
                  return mail;
              },
              tight) == words);
#endif
}

}  // namespace frayhold::post
