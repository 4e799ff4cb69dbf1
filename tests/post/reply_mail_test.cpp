// SPDX-License-Identifier: Apache-2.0
#include "post/reply_mail.h"

#include <catch2/catch.hpp>

#include "post/characters.h"
#include "post/safe_file_name.h"
#include "python_reading.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

ReplyMail read(const std::string& message) {
    return parse_reply(test::bytes_of(message), "reply.eml");
}

Error refusal(const std::string& message, const MailLimits& limits = {}) {
    try {
        (void)parse_reply(test::bytes_of(message), "reply.eml", limits);
    } catch (const Failure& failure) {
        return failure.error();
    }
    FAIL("was taken");
    return {};
}

const std::string head =
    "From: Gear desk <gear@brandelvoss.example>\r\n"
    "To: ida@korreltrees.example\r\n"
    "Subject: Re: [H-2026-0001] Arbolane 11\r\n"
    "Date: Mon, 02 Mar 2026 08:15:00 +0100\r\n"
    "Message-ID: <r1@brandelvoss.example>\r\n"
    "In-Reply-To: <q1@korreltrees.example>\r\n"
    "References: <q0@korreltrees.example>\r\n <q1@korreltrees.example>\r\n"
    "MIME-Version: 1.0\r\n";

}  // namespace

TEST_CASE("A plain reply is read whole") {
    const ReplyMail mail =
        read(head +
             "Content-Type: text/plain; charset=utf-8\r\n\r\nRetire it.\r\n\r\nGr\xC3\xBC\xC3\x9F"
             "e\r\n");
    CHECK(mail.from == Mailbox{"Gear desk", "gear@brandelvoss.example"});
    CHECK(mail.to == std::vector{Mailbox{"", "ida@korreltrees.example"}});
    CHECK(mail.subject == "Re: [H-2026-0001] Arbolane 11");
    CHECK(mail.date == parse_time("2026-03-02T07:15:00Z"));
    CHECK(mail.message_id == "r1@brandelvoss.example");
    CHECK(mail.in_reply_to == std::vector<std::string>{"q1@korreltrees.example"});
    CHECK(mail.references == std::vector<std::string>{"q0@korreltrees.example", "q1@korreltrees.example"});
    CHECK(mail.text == "Retire it.\n\nGrüße\n");
    CHECK_FALSE(mail.text_from_html);
    CHECK(mail.attachments.empty());
    CHECK(mail.kind == ReplyKind::answer);
}

TEST_CASE("Charsets: named, unnamed, unknown and wrongly named") {
    const auto body = [&](const std::string& type, const std::string& bytes) {
        return read(head + "Content-Type: text/plain" + type + "\r\nContent-Transfer-Encoding: 8bit\r\n\r\n" +
                    bytes)
            .text;
    };
    CHECK(body("; charset=iso-8859-1",
               "Gr\xFC\xDF"
               "e") == "Grüße");
    CHECK(body("; charset=windows-1252", "\x93no\x94 \x80 5") == "“no” € 5");
    CHECK(body("; charset=koi8-r", "\xD4\xD2\xCF\xD3") == "трос");
    CHECK(body("; charset=gb18030", "\xC9\xFE\xC6\xA4") == "绳皮");
    CHECK(body("; charset=iso-2022-jp", "\x1B$B%m!<%W\x1B(B") == "ロープ");
    CHECK(body("",
               "Gr\xC3\xBC\xC3\x9F"
               "e") == "Grüße");
    CHECK(body("",
               "Gr\xFC\xDF"
               "e") == "Grüße");
    CHECK(body("; charset=us-ascii",
               "Gr\xC3\xBC\xC3\x9F"
               "e") == "Grüße");
    CHECK(body("; charset=no-such-set",
               "Gr\xFC\xDF"
               "e") == "Grüße");
    CHECK(body("; charset=utf-8",
               "Gr\xFC"
               "e") == "Gr\uFFFDe");
}

TEST_CASE("Encoded words in a head: split over lines, padded, in pieces of a character, mixed") {
    const auto subject = [](const std::string& raw) {
        return read("From: a@b.example\r\nSubject: " + raw + "\r\n\r\nx").subject;
    };
    CHECK(subject("=?utf-8?B?SGVsbG8=?= =?utf-8?B?IHdvcmxk?=") == "Hello world");
    CHECK(subject("=?UTF-8?b?zr8=?=\r\n =?utf-8?B?IM65?=") == "ο ι");
    CHECK(subject("=?utf-8?B?b2LD?= =?utf-8?B?pHI=?=") == "obär");
    CHECK(subject("Re: =?iso-8859-1?Q?Gr=FC=DFe?= and =?utf-8?B?zr8=?=") == "Re: Grüße and ο");
    CHECK(subject("=?utf-8?B?SGVsbG8=?= =?iso-8859-1?B?IPw=?=") == "Hello ü");
    CHECK(subject("=?utf-8?B?broken") == "=?utf-8?B?broken");
    CHECK(subject("=?utf-8?B?") == "=?utf-8?B?");
    const ReplyMail mail = read(
        "From: =?utf-8?B?0JjQtA==?= =?utf-8?B?0LA=?= <ida@b.example>\r\nContent-Type: image/png;\r\n"
        " name=\"=?utf-8?B?0Lo=?= =?utf-8?B?0LDQvS5wbmc=?=\"\r\n\r\nx");
    CHECK(mail.from == Mailbox{"Ида", "ida@b.example"});
    REQUIRE(mail.attachments.size() == 1);
    CHECK(mail.attachments[0].file_name == "кан.png");
}

TEST_CASE("Transfer encodings: quoted-printable, base64, and text that breaks their rules") {
    const auto body = [&](const std::string& encoding, const std::string& bytes) {
        return read(head + "Content-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: " +
                    encoding + "\r\n\r\n" + bytes)
            .text;
    };
    CHECK(body("quoted-printable", "retire =\r\nit, gr=C3=BCn =3D") == "retire it, grün =");
    CHECK(body("quoted-printable", "100 =ZZ %=").starts_with("100 =ZZ %"));
    CHECK(body("base64", "cmV0aXJlIGl0") == "retire it");
    CHECK(body("BASE64", "cmV0\r\n aXJl!!IGl0") == "retire it");
    CHECK(body("x-unheard-of", "as it is") == "as it is");
}

TEST_CASE("Of alternatives the plain text is taken, and HTML alone is reduced to its words") {
    const std::string plain = "--b\r\nContent-Type: text/plain\r\n\r\nplain words\r\n";
    const std::string html = "--b\r\nContent-Type: text/html\r\n\r\n<p>html <b>words</b></p>\r\n";
    const std::string start = head + "Content-Type: multipart/alternative; boundary=b\r\n\r\n";
    CHECK(read(start + plain + html + "--b--\r\n").text == "plain words");
    CHECK(read(start + html + plain + "--b--\r\n").text == "plain words");
    const ReplyMail only = read(start + html + "--b--\r\n");
    CHECK(only.text == "html words\n");
    CHECK(only.text_from_html);
    const ReplyMail blank =
        read(start + "--b\r\nContent-Type: text/plain\r\n\r\n  \r\n" + html + "--b--\r\n");
    CHECK(blank.text == "html words\n");
    CHECK(blank.text_from_html);
    CHECK(blank.attachments.empty());
}

TEST_CASE("HTML too deep to be read is kept as an attachment, not lost") {
    std::string deep;
    for (int i = 0; i < 1000; ++i) deep += "<div>";
    const ReplyMail mail = read(head + "Content-Type: text/html\r\n\r\n" + deep + "words");
    CHECK(mail.text.empty());
    REQUIRE(mail.attachments.size() == 1);
    CHECK(mail.attachments[0].file_name == "attachment-1.html");
    CHECK(test::text_of(mail.attachments[0].bytes) == deep + "words");
}

TEST_CASE("Attachments come with their bytes and safe names of their own") {
    const auto part = [](const std::string& headers, const std::string& body) {
        return "--b\r\n" + headers + "\r\n\r\n" + body + "\r\n";
    };
    const ReplyMail mail = read(
        head + "Content-Type: multipart/mixed; boundary=b\r\n\r\n" +
        part("Content-Type: text/plain", "see the sheet") +
        part("Content-Type: image/jpeg; name=\"../../etc/rope.jpg\"\r\nContent-Transfer-Encoding: base64",
             "AAECAw==") +
        part("Content-Type: application/pdf\r\nContent-Disposition: attachment;\r\n "
             "filename*=utf-8''Pr%C3%BCf%E2%80%AEblatt.pdf",
             "%PDF") +
        part("Content-Type: application/pdf\r\nContent-Disposition: attachment; "
             "filename=\"=?utf-8?q?Pr=C3=BCfblatt.pdf?=\"",
             "2") +
        part("Content-Type: image/png\r\nContent-Disposition: inline", "3") +
        part("Content-Type: text/plain\r\nContent-Disposition: attachment; filename=notes.txt", "4") +
        part("Content-Type: text/plain", "and one line more") + "--b--\r\n");
    CHECK(mail.text == "see the sheet\n\nand one line more");
    REQUIRE(mail.attachments.size() == 5);
    CHECK(mail.attachments[0].file_name == "rope.jpg");
    CHECK(mail.attachments[0].media_type == "image/jpeg");
    CHECK(mail.attachments[0].bytes == std::vector{std::byte{0}, std::byte{1}, std::byte{2}, std::byte{3}});
    CHECK(mail.attachments[1].file_name == "Prüfblatt.pdf");
    CHECK(mail.attachments[2].file_name == "Prüfblatt (2).pdf");
    CHECK(mail.attachments[3].file_name == "attachment-4.png");
    CHECK(mail.attachments[4].file_name == "notes.txt");
    CHECK(test::text_of(mail.attachments[4].bytes) == "4");
}

TEST_CASE("A message within the message is one attachment and its text is not ours") {
    const ReplyMail mail =
        read(head +
             "Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\n\r\nforwarded below\r\n--b\r\n"
             "Content-Type: message/rfc822\r\n\r\n"
             "From: other@elsewhere.example\r\nSubject: inner\r\n\r\ninner text\r\n--b--\r\n");
    CHECK(mail.text == "forwarded below");
    REQUIRE(mail.attachments.size() == 1);
    CHECK(mail.attachments[0].file_name == "attachment-1.eml");
    CHECK(mail.attachments[0].media_type == "message/rfc822");
    CHECK(test::text_of(mail.attachments[0].bytes).find("inner text") != std::string::npos);
}

TEST_CASE("Automatic replies are told from answers") {
    const auto kind = [&](const std::string& header) {
        return read(head + header + "\r\nContent-Type: text/plain\r\n\r\nI am away.\r\n").kind;
    };
    // RFC 3834, 5.
    CHECK(kind("Auto-Submitted: auto-replied") == ReplyKind::automatic);
    CHECK(kind("Auto-Submitted: auto-generated; owner=gear") == ReplyKind::automatic);
    CHECK(kind("auto-submitted: No") == ReplyKind::answer);
    CHECK(kind("Auto-Submitted: no; comment") == ReplyKind::answer);
    // Common practice, no source.
    CHECK(kind("Precedence: bulk") == ReplyKind::automatic);
    CHECK(kind("Precedence: auto_reply") == ReplyKind::automatic);
    CHECK(kind("Precedence: list") == ReplyKind::answer);
    // RFC 3834, 3.3.
    CHECK(kind("Return-Path: <>") == ReplyKind::automatic);
    CHECK(kind("Return-Path: <gear@brandelvoss.example>") == ReplyKind::answer);
    CHECK(kind("X-Other: 1") == ReplyKind::answer);
}

TEST_CASE("A bounce is read as a delivery report that names our mail") {
    // The shape of RFC 3464, appendix E.
    const std::string report =
        "--b\r\nContent-Type: text/plain\r\n\r\nCould not deliver.\r\n--b\r\n"
        "Content-Type: message/delivery-status\r\n\r\n"
        "Reporting-MTA: dns; mail.brandelvoss.example\r\nArrival-Date: Mon, 02 Mar 2026 08:00:00 "
        "+0100\r\n\r\n"
        "Final-Recipient: rfc822;gear@brandelvoss.example\r\nAction: failed\r\nStatus: 5.2.2\r\n"
        "Diagnostic-Code: smtp; 552 5.2.2\r\n  mailbox full\r\n";
    const std::string start =
        "From: MAILER-DAEMON@brandelvoss.example\r\nTo: ida@korreltrees.example\r\nSubject: Undelivered\r\n"
        "Content-Type: multipart/report; report-type=delivery-status; boundary=b\r\nMIME-Version: "
        "1.0\r\n\r\n";
    const std::string original =
        "Message-ID: <q1@korreltrees.example>\r\nSubject: [H-2026-0001] x\r\n\r\nbody\r\n--b--\r\n";
    for (const std::string type : {"message/rfc822", "text/rfc822-headers"}) {
        const ReplyMail mail = read(start + report + "--b\r\nContent-Type: " + type + "\r\n\r\n" + original);
        CHECK(mail.kind == ReplyKind::delivery_report);
        REQUIRE(mail.delivery);
        CHECK(mail.delivery->action == "failed");
        CHECK(mail.delivery->status == "5.2.2");
        CHECK(mail.delivery->recipient == "gear@brandelvoss.example");
        CHECK(mail.delivery->reason == "552 5.2.2 mailbox full");
        CHECK(mail.delivery->original_message_id == "q1@korreltrees.example");
        CHECK(mail.text == "Could not deliver.");
        CHECK(mail.attachments.size() == 2);
    }
    // A receipt that a mail was shown is no answer either (RFC 8098).
    const ReplyMail shown =
        read(head +
             "Content-Type: multipart/report; report-type=disposition-notification; boundary=b\r\n\r\n"
             "--b\r\n\r\nshown\r\n--b--\r\n");
    CHECK(shown.kind == ReplyKind::automatic);
}

TEST_CASE("What is no mail is refused in plain words") {
    CHECK(refusal("").what == "it is empty");
    CHECK(refusal("\r\n \r\n").what == "it is empty");
    for (const std::string text :
         {"just some words\nand more\n", "%PDF-1.4\n%\xE2\xE3\xCF\xD3\n", "\xFF\xD8\xFF\xE0\0\x10JFIF",
          "<html><body>Subject: no</body></html>", "{\"Subject\": 1}"}) {
        const Error error = refusal(text);
        CHECK(error.fault == Fault::input);
        CHECK(error.where == "reply.eml");
        CHECK(error.what.starts_with("it is not a mail"));
        CHECK_FALSE(error.mend.empty());
    }
    CHECK(refusal(std::string(100, '\0')).what.starts_with("it is not a mail"));
}

TEST_CASE("Limits hold: size, nesting, number of parts, head and text") {
    MailLimits small;
    small.max_bytes = 1000;
    CHECK(refusal(head + "\r\n" + std::string(2000, 'x'), small).what.find("larger") != std::string::npos);

    const auto nested = [&](int depth, const std::string& type) {
        std::string message = head;
        for (int i = 0; i < depth; ++i) {
            const std::string mark = "b" + std::to_string(i);
            message += type == "multipart"
                           ? "Content-Type: multipart/mixed; boundary=" + mark + "\r\n\r\n--" + mark + "\r\n"
                           : "Content-Type: message/rfc822\r\n\r\nSubject: x\r\n";
        }
        return message + "\r\ninmost\r\n";
    };
    CHECK(read(nested(20, "multipart")).text.starts_with("inmost"));
    for (const std::string type : {"multipart", "message"})
        for (const int depth : {30, 1000, 50'000})
            CHECK(refusal(nested(depth, type)).what.find("nested too deep") != std::string::npos);

    std::string many = head + "Content-Type: multipart/mixed; boundary=b\r\n\r\n";
    for (int i = 0; i < 1000; ++i) many += "--b\r\n\r\nx\r\n";
    CHECK(refusal(many).what.find("too many parts") != std::string::npos);

    std::string tall;
    for (int i = 0; i < 10'000; ++i) tall += "X-Line: " + std::to_string(i) + "\r\n";
    CHECK(refusal(tall + head + "\r\nx").what.find("too many lines") != std::string::npos);

    MailLimits brief;
    brief.max_text_bytes = 5;
    const ReplyMail cut = parse_reply(
        test::bytes_of(head + "Content-Type: text/plain; charset=utf-8\r\n\r\nabcd\xC3\xBC\xC3\xBC"),
        "reply.eml", brief);
    CHECK(cut.text == "abcd");
    CHECK(cut.text_cut);
}

TEST_CASE("Hostile heads and bodies: NULs, bare line ends, control and direction marks, raw bytes") {
    const ReplyMail mail = read(
        "From: \"Gear\x1B[31m desk\" <gear@brandelvoss.example>\nSubject: =?utf-8?b?4oCuZXhl4oCs?= ok"
        "\nDate: yesterday\nMessage-ID: <a@b>\n\nred \x1B[31m text\rnew" +
        std::string(1, '\0') + "line\n");
    CHECK(mail.from.name == "Gear [31m desk");
    CHECK(mail.subject == "exe ok");
    CHECK_FALSE(mail.date);
    CHECK(mail.text.find('\x1B') == std::string::npos);
    CHECK(mail.text.find('\0') == std::string::npos);
    CHECK(mail.text.starts_with("red [31m text\nnew"));

    // Every byte value, everywhere a byte can stand, and every truncation of a whole mail: nothing may crash.
    std::string all;
    for (int i = 0; i < 256; ++i) all += static_cast<char>(i);
    const std::string whole =
        "From: " + all + "\r\nSubject: " + all + "\r\n" + head +
        "Content-Type: multipart/mixed; boundary=b\r\n\r\n--b\r\nContent-Type: text/html\r\n\r\n<p>" + all +
        "\r\n--b\r\nContent-Type: image/jpeg; name=\"" + all + "\"\r\n\r\n" + all + "\r\n--b--\r\n";
    int taken = 0;
    for (std::size_t length = 1; length <= whole.size(); ++length) {
        try {
            const ReplyMail part = parse_reply(test::bytes_of(whole.substr(0, length)), "cut.eml");
            CHECK(valid_text(part.subject) == part.subject);
            CHECK(valid_text(part.text) == part.text);
            ++taken;
        } catch (const Failure&) {
        }
    }
    CHECK(taken > 1000);
}

TEST_CASE("A mail saved with a leading mailbox line is read") {
    CHECK(read("From gear@brandelvoss.example Mon Mar  2 08:15:00 2026\n" + head + "\r\nRetire it.\r\n")
              .text.starts_with("Retire it."));
}

}  // namespace frayhold::post
