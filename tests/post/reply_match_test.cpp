// SPDX-License-Identifier: Apache-2.0
#include "post/reply_match.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <map>

namespace frayhold::post {
namespace {

const std::map<std::string, std::string> hold_by_query{{"q1@k.example", "H-2026-0001"},
                                                       {"q2@k.example", "H-2026-0001"},
                                                       {"q3@k.example", "H-2026-0002"},
                                                       {"q4@k.example", "H-2026-00012"}};

std::optional<Match> placed(const ReplyMail& reply) {
    const auto hold_of_query = [](const std::string& id) -> std::optional<std::string> {
        const auto at = hold_by_query.find(id);
        if (at == hold_by_query.end()) return std::nullopt;
        return at->second;
    };
    const auto is_asked_hold = [](const std::string& number) {
        return std::any_of(hold_by_query.begin(), hold_by_query.end(),
                           [&](const auto& entry) { return entry.second == number; });
    };
    return match(hold_clues(reply), hold_of_query, is_asked_hold);
}

ReplyMail with_subject(const std::string& subject) {
    ReplyMail reply;
    reply.subject = subject;
    return reply;
}

}  // namespace

TEST_CASE("In-Reply-To places a reply, whatever its subject says") {
    ReplyMail reply = with_subject("H-2026-0002");
    reply.in_reply_to = {"other@x.example", "q2@k.example"};
    reply.references = {"q3@k.example"};
    REQUIRE(placed(reply));
    CHECK(placed(reply)->hold_number == "H-2026-0001");
    CHECK(placed(reply)->by == MatchedBy::in_reply_to);
}

TEST_CASE("References place it next, the newest first") {
    ReplyMail reply = with_subject("H-2026-0001");
    reply.in_reply_to = {"their-own@b.example"};
    reply.references = {"q1@k.example", "q3@k.example", "their-own@b.example"};
    REQUIRE(placed(reply));
    CHECK(placed(reply)->hold_number == "H-2026-0002");
    CHECK(placed(reply)->by == MatchedBy::references);
}

TEST_CASE("Then the hold number in the subject, as a word of its own") {
    REQUIRE(placed(with_subject("AW: [h-2026-0002] Arbolane 11")));
    CHECK(placed(with_subject("AW: [h-2026-0002] Arbolane 11"))->hold_number == "H-2026-0002");
    CHECK(placed(with_subject("AW: [h-2026-0002] Arbolane 11"))->by == MatchedBy::number);
    CHECK(placed(with_subject("H-2026-00012"))->hold_number == "H-2026-00012");
    CHECK_FALSE(placed(with_subject("XH-2026-0002")));
    CHECK_FALSE(placed(with_subject("H-2026-000")));
    CHECK_FALSE(placed(with_subject("H-2026-0003")));
    CHECK_FALSE(placed(with_subject("")));
}

TEST_CASE("Or behind the + of the address it went to") {
    ReplyMail reply = with_subject("our answer");
    reply.to = {{"", "office@k.example"}, {"", "ida+h-2026-0002@k.example"}};
    REQUIRE(placed(reply));
    CHECK(placed(reply)->hold_number == "H-2026-0002");
    reply.to = {{"", "ida@h-2026-0002.example"}, {"", "h-2026-0002@k.example"}};
    CHECK_FALSE(placed(reply));
}

TEST_CASE("What points to two holds is left to a person") {
    CHECK_FALSE(placed(with_subject("H-2026-0001 and H-2026-0002")));
    ReplyMail reply;
    reply.in_reply_to = {"q1@k.example", "q3@k.example"};
    CHECK_FALSE(placed(reply));
}

TEST_CASE("A delivery report is placed by the mail it is about") {
    ReplyMail reply;
    reply.kind = ReplyKind::delivery_report;
    reply.delivery = DeliveryReport{"failed", "5.1.1", "gear@b.example", "", "q3@k.example"};
    REQUIRE(placed(reply));
    CHECK(placed(reply)->hold_number == "H-2026-0002");
}

}  // namespace frayhold::post
