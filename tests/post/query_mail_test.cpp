// SPDX-License-Identifier: Apache-2.0
#include "post/query_mail.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "post/reply_mail.h"
#include "python_reading.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

QueryMail query() {
    QueryMail mail;
    mail.from = {"Ida Fenwright", "ida@korreltrees.example"};
    mail.to = {"Gear desk", "gear@brandelvoss.example"};
    mail.hold_number = "H-2026-0001";
    mail.subject = "Arbolane 11, serial 4471: sheath frayed";
    mail.date = *parse_time("2026-02-28T09:30:00Z");
    mail.message_id = message_id_for("H-2026-0001", 1, mail.date, mail.from);
    mail.body = "Dear gear desk,\n\nplease look at the pictures.\n\nIda Fenwright\n";
    std::vector<std::byte> all_bytes;
    for (int i = 0; i < 1000; ++i) all_bytes.push_back(static_cast<std::byte>(i % 256));
    mail.attachments = {
        {"H-2026-0001.pdf", "application/pdf", all_bytes},
        {"1-close-up.jpg", "image/jpeg", {std::byte{0xFF}, std::byte{0xD8}, std::byte{'\n'}}}};
    return mail;
}

std::string hex(const std::vector<std::byte>& bytes) {
    std::string out;
    for (const std::byte byte : bytes) {
        constexpr std::string_view digits = "0123456789abcdef";
        out += digits[std::to_integer<std::size_t>(byte >> 4)];
        out += digits[std::to_integer<std::size_t>(byte & std::byte{15})];
    }
    return out;
}

// Line ends as \n, none at the end: what two readers of one text may differ in.
std::string plain(std::string text) {
    std::erase(text, '\r');
    while (!text.empty() && text.back() == '\n') text.pop_back();
    return text;
}

void check_read_alike(const QueryMail& mail) {
    const std::vector<std::byte> message = message_of(mail);
    // Outside check: Python's email package.
    const nlohmann::json python = test::read_by_python(message);
    CHECK(python["defects"].empty());
    CHECK(python["subject"] == subject_of(mail));
    CHECK(python["from_name"] == mail.from.name);
    CHECK(python["from_address"] == mail.from.address);
    CHECK(python["to"] == nlohmann::json::array({{mail.to.name, mail.to.address}}));
    CHECK(python["message_id"] == "<" + mail.message_id + ">");
    CHECK(python["date"] == mail.date.time_since_epoch().count());
    REQUIRE(python["parts"].size() == mail.attachments.size() + 1);
    CHECK(python["parts"][0]["type"] == "text/plain");
    CHECK(plain(python["parts"][0]["text"]) == plain(mail.body));
    // And our own reader.
    const ReplyMail read = parse_reply(message, "query.eml");
    CHECK(read.subject == subject_of(mail));
    CHECK(read.from == mail.from);
    CHECK(read.to == std::vector{mail.to});
    CHECK(read.date == mail.date);
    CHECK(read.message_id == mail.message_id);
    CHECK(plain(read.text) == plain(mail.body));
    CHECK(read.kind == ReplyKind::answer);
    REQUIRE(read.attachments.size() == mail.attachments.size());
    for (std::size_t i = 0; i < mail.attachments.size(); ++i) {
        CHECK(python["parts"][i + 1]["name"] == mail.attachments[i].file_name);
        CHECK(python["parts"][i + 1]["type"] == mail.attachments[i].media_type);
        CHECK(python["parts"][i + 1]["disposition"] == "attachment");
        CHECK(python["parts"][i + 1]["hex"] == hex(mail.attachments[i].bytes));
        CHECK(read.attachments[i].file_name == mail.attachments[i].file_name);
        CHECK(read.attachments[i].media_type == mail.attachments[i].media_type);
        CHECK(read.attachments[i].bytes == mail.attachments[i].bytes);
    }
}

}  // namespace

TEST_CASE("A query is read by Python's email package and by our reader as it was meant") {
    check_read_alike(query());
}

TEST_CASE("A query in any script is read as it was meant") {
    QueryMail mail = query();
    mail.from.name = "Ida “Fen” Fenwright, Depot — Süd";
    mail.to.name = "装备部";
    mail.subject = "Mantel beschädigt – τι όριο ισχύει; 绳皮磨损 حبل ألياف";
    mail.body =
        "Grüße,\n\n.ein Punkt am Anfang\nFrom hier\n--kein Trenner\n=_gleich\nπλεξούδα 绳皮 ألياف\n\ttab and "
        "trailing \n" +
        std::string(3000, 'x') + "\n";
    mail.attachments[0].file_name = "Fall H-2026-0001 Mänteltuch (Öse).pdf";
    mail.attachments[1].file_name = "照片-κοντινή-صورة-with-a-name-long-enough-to-be-folded-over-lines.jpg";
    check_read_alike(mail);
}

TEST_CASE("A query without attachments, and one that follows up earlier mails") {
    QueryMail mail = query();
    mail.attachments.clear();
    mail.references = {"first@korreltrees.example", "second@brandelvoss.example"};
    check_read_alike(mail);
    const ReplyMail read = parse_reply(message_of(mail), "query.eml");
    CHECK(read.in_reply_to == std::vector<std::string>{"second@brandelvoss.example"});
    CHECK(read.references == mail.references);
}

TEST_CASE("A query keeps to the line rules of RFC 5322, 2.1.1 and 2.3") {
    QueryMail mail = query();
    mail.subject = "A very long subject that goes on " + std::string(40, 'w') + " and on, über alle Maßen " +
                   std::string(40, 'v');
    mail.body = std::string(5000, 'x') + "ü\r\nmixed\rline\nends";
    const std::string message = test::text_of(message_of(mail));
    std::size_t from = 0;
    while (from < message.size()) {
        const std::size_t end = message.find("\r\n", from);
        REQUIRE(end != std::string::npos);
        CHECK(end - from <= 78);
        CHECK(message.substr(from, end - from).find_first_of("\r\n") == std::string::npos);
        from = end + 2;
    }
    CHECK(std::all_of(message.begin(), message.end(),
                      [](char c) { return static_cast<unsigned char>(c) < 0x80; }));
}

TEST_CASE("The same query gives the same bytes, and each part of it changes the boundary") {
    CHECK(message_of(query()) == message_of(query()));
    const auto boundary = [](const QueryMail& mail) {
        const std::string message = test::text_of(message_of(mail));
        const std::size_t at = message.find("\r\n--=_");
        return message.substr(at + 4, message.find("\r\n", at + 4) - at - 4);
    };
    QueryMail other_body = query();
    other_body.body += "?";
    QueryMail other_file = query();
    other_file.attachments[0].bytes[7] ^= std::byte{1};
    CHECK(boundary(other_body) != boundary(query()));
    CHECK(boundary(other_file) != boundary(query()));
}

TEST_CASE("The hold number stands in the subject once") {
    QueryMail mail = query();
    CHECK(subject_of(mail) == "[H-2026-0001] Arbolane 11, serial 4471: sheath frayed");
    mail.subject = "Reminder: H-2026-0001";
    CHECK(subject_of(mail) == "Reminder: H-2026-0001");
}

TEST_CASE("What cannot be sent is refused by the name of its field") {
    const auto refused = [](auto change, const std::string& field) {
        QueryMail mail = query();
        change(mail);
        try {
            (void)message_of(mail);
            FAIL("was taken: " << field);
        } catch (const Failure& failure) {
            CHECK(failure.error().fault == Fault::input);
            CHECK(failure.error().where.find(field) != std::string::npos);
        }
    };
    // A line break in a header would let a word become a header of its own.
    refused([](QueryMail& m) { m.subject = "x\r\nBcc: all@elsewhere.example"; }, "subject");
    refused([](QueryMail& m) { m.from.name = "Ida\nBcc: x@y.example"; }, "name beside an address");
    refused([](QueryMail& m) { m.to.address = "gear@brandelvoss.example\r\nBcc: x@y.example"; },
            "maker's address");
    refused([](QueryMail& m) { m.to.address = "a@b.example, c@d.example"; }, "maker's address");
    refused([](QueryMail& m) { m.to.address = "gear"; }, "maker's address");
    refused([](QueryMail& m) { m.from.address = ""; }, "sender's address");
    refused([](QueryMail& m) { m.hold_number = ""; }, "hold number");
    refused([](QueryMail& m) { m.subject = ""; }, "subject");
    refused([](QueryMail& m) { m.body = " \n"; }, "letter");
    refused([](QueryMail& m) { m.message_id = "no-domain"; }, "Message-ID");
    refused([](QueryMail& m) { m.references = {"a b@c"}; }, "References");
    refused([](QueryMail& m) { m.attachments[0].file_name = "../up.pdf"; }, "attachment");
    refused([](QueryMail& m) { m.attachments[0].file_name = ""; }, "attachment");
    refused([](QueryMail& m) { m.attachments[0].media_type = "pdf"; }, "attachment");
    refused([](QueryMail& m) { m.attachments[0].media_type = "image/jpeg\r\nX: y"; }, "attachment");
}

TEST_CASE("A Message-ID is made from the hold, the turn, the time and the sender's domain") {
    CHECK(message_id_for("H-2026-0001", 2, *parse_time("2026-02-28T09:30:00Z"), query().from) ==
          "H-2026-0001.2.20260228T093000Z@korreltrees.example");
    CHECK_THROWS_AS(message_id_for("H 1", 1, Time{}, query().from), Failure);
    CHECK_THROWS_AS(message_id_for("H-1", 1, Time{}, Mailbox{"", "nobody@"}), Failure);
}

}  // namespace frayhold::post
