// SPDX-License-Identifier: Apache-2.0
#include "record/rules.h"

#include <catch2/catch.hpp>

#include "record/sample_case.h"

namespace frayhold::record {
using criteria::Outcome;
using sample::today;
using Lines = std::vector<std::string>;

namespace {

template <class T>
Error refusal(const Result<T>& result) {
    REQUIRE_FALSE(result.has_value());
    CHECK(result.error().fault == Fault::refused);
    CHECK_FALSE(result.error().where.empty());
    CHECK_FALSE(result.error().mend.empty());
    return result.error();
}

Verdict with_reason(VerdictKind kind) {
    return sample::verdict(kind, "seen, felt and load-tested on the stand");
}

Verdict with_limit(const std::string& reason = "") {
    Verdict verdict = sample::verdict(VerdictKind::return_with_limit, reason);
    verdict.limit = "rigging only, not for climbing";
    return verdict;
}

// K-12 is 45 m long.
Verdict cut(double first_mm, double second_mm, double scrapped_mm, const std::string& reason = "") {
    Verdict verdict = sample::verdict(VerdictKind::cut_and_keep_parts, reason);
    verdict.parts = {{"K-12a", Millimetres(first_mm)}, {"K-12b", Millimetres(second_mm)}};
    verdict.scrapped = Millimetres(scrapped_mm);
    return verdict;
}

}  // namespace

TEST_CASE("A hold only moves forward, step by step or straight to its verdict") {
    const std::vector<HoldState>& states = all_hold_states();
    for (std::size_t from = 0; from < states.size(); ++from)
        for (std::size_t to = 0; to < states.size(); ++to) {
            const bool step = to == from + 1;
            const bool straight = states[to] == HoldState::verdict && states[from] != HoldState::verdict;
            CHECK(may_move(states[from], states[to]) == (step || straight));
        }
}

TEST_CASE("Which items can be held") {
    Item item = sample::rope();
    CHECK(may_open_hold(item).has_value());
    item.status = ItemStatus::in_service_with_limit;
    CHECK(may_open_hold(item).has_value());
    item.status = ItemStatus::sent_to_maker;
    CHECK(may_open_hold(item).has_value());
    item.status = ItemStatus::on_hold;
    CHECK(refusal(may_open_hold(item)).sentence() ==
          "item K-12: it is already on hold; add what is new to the hold that is open");
    item.status = ItemStatus::retired;
    CHECK(refusal(may_open_hold(item)).what == "it is retired and out of service for good");
}

TEST_CASE("After the verdict nothing is added to the case") {
    CaseFile file = sample::answered_case(MakersAnswer::fit);
    CHECK(may_add_evidence(file).has_value());
    file.hold.state = HoldState::verdict;
    file.verdict = sample::verdict(VerdictKind::retire_and_destroy);
    CHECK(refusal(may_add_evidence(file)).what == "the verdict is given and the hold is over");
    refusal(may_waive(file, PhotoRole::label, "label worn off"));
    refusal(may_become_ready(file));
    refusal(may_ask(file));
    refusal(may_enter_answer(file, 1, *file.replies[0].answer));
    const Error second = refusal(check_verdict(file, with_reason(VerdictKind::return_to_service), today));
    CHECK(second.what == "a verdict was already given by Tomas Oberlyn: retire and destroy");
    CHECK(next_step(file, today) == "Nothing: the verdict is given.");
}

TEST_CASE("Ready needs the whole evidence list") {
    CaseFile file = sample::open_case();
    const Error error = refusal(may_become_ready(file));
    CHECK(error.where == "hold H-2026-0001");
    CHECK(error.what.find("no photo of the label yet; no photo of the whole item yet") != std::string::npos);
    sample::add_all_views(file);
    CHECK(may_become_ready(file).has_value());
}

TEST_CASE("A view is waived by a reason, and only where it is missing") {
    CaseFile file = sample::open_case();
    CHECK(may_waive(file, PhotoRole::label, "label worn off").has_value());
    CHECK(refusal(may_waive(file, PhotoRole::label, "  ")).what ==
          "no reason is given why the label cannot be photographed");
    CHECK(refusal(may_waive(file, PhotoRole::second_view, "too dark")).what ==
          "a second view of the damage with the card is not asked for");
    sample::add_photo(file, PhotoRole::label);
    CHECK(refusal(may_waive(file, PhotoRole::label, "label worn off")).what ==
          "there is a photo of the label already");
    sample::add_photo(file, PhotoRole::whole_item);
    WaivedView waived;
    waived.role = PhotoRole::close_up;
    file.waived.push_back(waived);
    CHECK(refusal(may_waive(file, PhotoRole::close_up, "again")).what ==
          "it is written already why the damage, close up with the card cannot be photographed");
}

TEST_CASE("The maker is asked when the evidence is ready") {
    CaseFile file = sample::open_case();
    CHECK(refusal(may_ask(file)).what.find("the maker cannot be asked yet: no photo of the label yet") == 0);
    sample::add_all_views(file);
    file.hold.state = HoldState::ready;
    CHECK(may_ask(file).has_value());
    CHECK(may_ask(sample::asked_case()).has_value());
    CHECK(may_ask(sample::answered_case(MakersAnswer::cannot_say)).has_value());
}

TEST_CASE("An answer is entered beside a reply that a person wrote") {
    CaseFile file = sample::asked_case();
    AnswerEntry answer;
    answer.answer = MakersAnswer::fit;
    const Result<void> missing = may_enter_answer(file, 1, answer);
    REQUIRE_FALSE(missing.has_value());
    CHECK(missing.error().fault == Fault::input);
    sample::add_reply(file);
    CHECK(may_enter_answer(file, 1, answer).has_value());

    SECTION("a limit belongs to 'fit with a limit' only") {
        answer.limit = "two years";
        CHECK(refusal(may_enter_answer(file, 1, answer)).what ==
              "a limit does not go with 'fit for service'");
        answer.answer = MakersAnswer::fit_with_limit;
        CHECK(may_enter_answer(file, 1, answer).has_value());
        answer.limit = " ";
        CHECK(refusal(may_enter_answer(file, 1, answer)).what == "the maker's limit is not stated");
    }
    SECTION("an absence notice is no answer") {
        file.replies[0].automatic = true;
        CHECK(refusal(may_enter_answer(file, 1, answer)).what ==
              "reply 1 is an automatic message, not an answer");
    }
    SECTION("nothing was asked") {
        file.hold.state = HoldState::ready;
        CHECK(refusal(may_enter_answer(file, 1, answer)).what == "the maker was not asked yet");
    }
}

TEST_CASE("Returning follows the maker's answer") {
    SECTION("fit: returned as it is, or with a limit of the person's own") {
        const CaseFile file = sample::answered_case(MakersAnswer::fit);
        const Result<Verdict> verdict =
            check_verdict(file, sample::verdict(VerdictKind::return_to_service), today);
        REQUIRE(verdict.has_value());
        CHECK_FALSE(verdict->is_override());
        CHECK(check_verdict(file, with_limit(), today).has_value());
    }
    SECTION("fit with a limit: only with a limit") {
        const CaseFile file = sample::answered_case(MakersAnswer::fit_with_limit, "until 2027");
        CHECK(check_verdict(file, with_limit(), today).has_value());
        CHECK(
            refusal(check_verdict(file, sample::verdict(VerdictKind::return_to_service), today)).what ==
            "'return to service' goes against the rules: the maker answered 'fit with a limit': until 2027");
    }
    SECTION("against the answer, without one, or with an answer that says nothing: refused") {
        const std::vector<std::pair<CaseFile, std::string>> cases{
            {sample::answered_case(MakersAnswer::not_fit), "the maker answered 'not fit for service'"},
            {sample::answered_case(MakersAnswer::send_it_in), "the maker asked for it to be sent in"},
            {sample::answered_case(MakersAnswer::cannot_say), "the maker cannot say whether it is fit"},
            {sample::asked_case(), "the maker has not answered"},
        };
        for (const auto& [file, words] : cases) {
            for (const VerdictKind kind : {VerdictKind::return_to_service, VerdictKind::return_with_limit}) {
                Verdict verdict =
                    kind == VerdictKind::return_with_limit ? with_limit() : sample::verdict(kind);
                CHECK(rules_against(file, verdict, today) == Lines{words});
                CHECK(refusal(check_verdict(file, verdict, today)).mend ==
                      "only the deciding person may do so, by writing the reason; it will be shown in every "
                      "report");
                verdict.reason = " \n";
                refusal(check_verdict(file, verdict, today));
                verdict.reason = "the maker has closed down; load-tested on the stand";
                const Result<Verdict> given = check_verdict(file, verdict, today);
                REQUIRE(given.has_value());
                CHECK(given->is_override());
                CHECK(given->given_against == Lines{words});
            }
        }
    }
}

TEST_CASE("Silence is never a pass: returning from an open hold names all that is missing") {
    const CaseFile file = sample::open_case();
    const Lines against = rules_against(file, sample::verdict(VerdictKind::return_to_service), today);
    CHECK(against == Lines{"no photo yet: the label", "no photo yet: the whole item",
                           "no photo yet: the damage, close up with the card",
                           "no photo yet: the damage from the other side with the card",
                           "the maker was not asked"});
    CaseFile blurred = file;
    sample::add_photo(blurred, PhotoRole::label, false);
    CHECK(rules_against(blurred, sample::verdict(VerdictKind::return_to_service), today).front() ==
          "no photo that can be used yet: the label");
    refusal(check_verdict(file, sample::verdict(VerdictKind::return_to_service), today));
    const Result<Verdict> given = check_verdict(file, with_reason(VerdictKind::return_to_service), today);
    REQUIRE(given.has_value());
    CHECK(given->given_against == against);
}

TEST_CASE("Returning where a retire criterion is met is refused even with the maker's 'fit'") {
    CaseFile file = sample::answered_case(MakersAnswer::fit);
    sample::add_finding(file, "core_seen", Outcome::retire, Millimetres(12'000.0));
    Lines expected{"retire criterion met: Named core_seen: common practice"};
    CHECK(rules_against(file, sample::verdict(VerdictKind::return_to_service), today) == expected);
    refusal(check_verdict(file, sample::verdict(VerdictKind::return_to_service), today));
    CHECK(check_verdict(file, with_reason(VerdictKind::return_to_service), today)->given_against == expected);

    SECTION("from a photo too, named by what was measured") {
        file.findings.clear();
        expected = {"retire criterion met: core area: common practice"};
        file.photos[2].advice = {sample::advice("core_seen", Outcome::retire)};
        CHECK(rules_against(file, sample::verdict(VerdictKind::return_to_service), today) == expected);
    }
    SECTION("advice to hold and ask is no retire ground") {
        file.findings.clear();
        file.photos[2].advice = {sample::advice("heavy_fray", Outcome::hold_and_ask)};
        CHECK(rules_against(file, sample::verdict(VerdictKind::return_to_service), today).empty());
    }
}

TEST_CASE("Returning where life is over is refused") {
    CaseFile file = sample::answered_case(MakersAnswer::fit);
    file.item.life = {4, std::nullopt};
    CHECK(rules_against(file, sample::verdict(VerdictKind::return_to_service), today) ==
          Lines{"the end of its life has passed: 2025-07-14"});
    file.item.made.reset();
    CHECK(rules_against(file, sample::verdict(VerdictKind::return_to_service), today).size() == 1);
}

TEST_CASE("Retiring is always open; without a ground or an answer the reason is written") {
    const Verdict retire = sample::verdict(VerdictKind::retire_and_destroy);
    CaseFile file = sample::open_case();
    CHECK(refusal(check_verdict(file, retire, today)).what ==
          "'retire and destroy' goes against the rules: no retire criterion is met and the maker was not "
          "asked");
    CHECK(check_verdict(file, with_reason(VerdictKind::retire_and_destroy), today).has_value());
    // Straight to 'retire' from any state where a criterion is met.
    sample::add_finding(file, "melted", Outcome::retire, Millimetres(500.0));
    CHECK(check_verdict(file, retire, today)->given_against.empty());
    // After any answer.
    for (const MakersAnswer answer : all_makers_answers())
        CHECK(check_verdict(sample::answered_case(answer), retire, today)->given_against.empty());
}

TEST_CASE("Sending to the maker goes against no rule") {
    CHECK(check_verdict(sample::open_case(), sample::verdict(VerdictKind::send_to_maker), today)
              ->given_against.empty());
}

// Common practice, no source: where the core shows, the rope is retired, or the place is cut out and two
// shorter ropes are kept, each with an identity of its own.
TEST_CASE("Core seen: cut and keep two shorter ropes without asking") {
    CaseFile file = sample::open_case();
    sample::add_finding(file, "core_seen", Outcome::retire, Millimetres(12'000.0));
    const Result<Verdict> verdict = check_verdict(file, cut(11'500.0, 32'500.0, 1'000.0), today);
    REQUIRE(verdict.has_value());
    CHECK(verdict->given_against.empty());
}

// Common practice, no source: a rope that caught a hard fall, or may have met a chemical, is suspect along
// its whole length, whatever is cut out of it.
TEST_CASE("What speaks of the whole item is not cut out") {
    CaseFile file = sample::open_case();
    sample::add_finding(file, "shock_load", Outcome::retire, std::nullopt);
    CHECK(rules_against(file, cut(11'500.0, 32'500.0, 1'000.0), today) ==
          Lines{"the whole item is concerned: retire criterion met: Named shock_load: common practice"});
    refusal(check_verdict(file, cut(11'500.0, 32'500.0, 1'000.0), today));

    SECTION("the same criterion found once with a place and once without") {
        sample::add_finding(file, "core_seen", Outcome::retire, Millimetres(12'000.0));
        sample::add_finding(file, "core_seen", Outcome::retire, std::nullopt);
        CHECK(rules_against(file, cut(11'500.0, 32'500.0, 1'000.0), today).size() == 2);
        CHECK(retire_grounds(file, today).size() == 2);
    }
    SECTION("a life that is over") {
        file.findings.clear();
        sample::add_finding(file, "core_seen", Outcome::retire, Millimetres(12'000.0));
        file.item.life = {4, std::nullopt};
        CHECK(rules_against(file, cut(11'500.0, 32'500.0, 1'000.0), today).size() == 1);
    }
}

TEST_CASE("Keeping parts against the maker's answer is refused") {
    CHECK(rules_against(sample::answered_case(MakersAnswer::not_fit), cut(11'500.0, 32'500.0, 1'000.0),
                        today) == Lines{"the maker answered 'not fit for service'"});
    CHECK(rules_against(sample::asked_case(), cut(11'500.0, 32'500.0, 1'000.0), today) ==
          Lines{"the maker has not answered"});
    CHECK(rules_against(sample::answered_case(MakersAnswer::fit), cut(11'500.0, 32'500.0, 1'000.0), today)
              .empty());
    Verdict limited = cut(11'500.0, 32'500.0, 1'000.0);
    const CaseFile file = sample::answered_case(MakersAnswer::fit_with_limit, "rigging only");
    CHECK(rules_against(file, limited, today) ==
          Lines{"the maker answered 'fit with a limit': rigging only"});
    limited.limit = "rigging only";
    CHECK(rules_against(file, limited, today).empty());
}

TEST_CASE("Parts must add up and have marks of their own") {
    CaseFile file = sample::open_case();
    sample::add_finding(file, "core_seen", Outcome::retire, Millimetres(12'000.0));
    const auto what = [&](const Verdict& verdict) {
        return refusal(check_verdict(file, verdict, today)).what;
    };

    CHECK(what(cut(11'500.0, 32'500.0, 900.0)) ==
          "the parts and the scrapped length make 44.9 m, but K-12 is 45 m long");
    CHECK(what(cut(11'500.0, 32'500.0, 1'000.6)) ==
          "the parts and the scrapped length make 45.001 m, but K-12 is 45 m long");
    CHECK(check_verdict(file, cut(11'500.0, 32'499.6, 1'000.0), today).has_value());
    CHECK(what(cut(12'500.0, 32'500.0, 0.0)) == "nothing is cut out");
    CHECK(what(cut(13'500.0, 32'500.0, -1'000.0)) == "nothing is cut out");
    CHECK(what(cut(-1'000.0, 45'000.0, 1'000.0)) == "part K-12a has no length");

    Verdict verdict = cut(11'500.0, 32'500.0, 1'000.0);
    verdict.parts[1].mark = "K-12a";
    CHECK(what(verdict) == "the mark K-12a is used twice");
    verdict.parts[1].mark = "K-12";
    CHECK(what(verdict) == "the mark K-12 is used twice");
    verdict.parts[1].mark = " ";
    CHECK(what(verdict) == "a part has no mark of its own");
    verdict.parts.clear();
    CHECK(what(verdict) == "no part is kept");
    verdict = cut(11'500.0, 32'500.0, 1'000.0);
    verdict.scrapped.reset();
    CHECK(what(verdict) == "nothing is cut out");

    file.item.length.reset();
    CHECK(what(cut(11'500.0, 32'500.0, 1'000.0)) == "the length of K-12 is not recorded");
    file.item.kind = Kind::sewn_sling;
    CHECK(what(cut(11'500.0, 32'500.0, 1'000.0)) ==
          "only rope and cord can be cut into parts, and K-12 is no rope or cord: sewn sling");
}

TEST_CASE("A reason does not mend a verdict that is wrong in itself") {
    CaseFile file = sample::open_case();
    const std::string reason = "my decision";
    CHECK(
        refusal(check_verdict(file, cut(1.0, 2.0, 3.0, reason), today)).what.find("but K-12 is 45 m long") !=
        std::string::npos);
    Verdict nameless = with_reason(VerdictKind::retire_and_destroy);
    nameless.by = "  ";
    CHECK(refusal(check_verdict(file, nameless, today)).what == "the verdict names nobody");
    Verdict limitless = with_limit(reason);
    limitless.limit.clear();
    CHECK(refusal(check_verdict(file, limitless, today)).what == "the limit is not stated");
    Verdict limited = with_reason(VerdictKind::return_to_service);
    limited.limit = "rigging only";
    CHECK(refusal(check_verdict(file, limited, today)).what ==
          "a limit does not go with 'return to service'");
    Verdict parted = with_reason(VerdictKind::retire_and_destroy);
    parted.parts = {{"K-12a", Millimetres(1.0)}};
    CHECK(refusal(check_verdict(file, parted, today)).what == "parts do not go with 'retire and destroy'");
}

TEST_CASE("The item follows the verdict") {
    CHECK(status_after(VerdictKind::retire_and_destroy) == ItemStatus::retired);
    CHECK(status_after(VerdictKind::cut_and_keep_parts) == ItemStatus::retired);
    CHECK(status_after(VerdictKind::return_to_service) == ItemStatus::in_service);
    CHECK(status_after(VerdictKind::return_with_limit) == ItemStatus::in_service_with_limit);
    CHECK(status_after(VerdictKind::send_to_maker) == ItemStatus::sent_to_maker);
}

TEST_CASE("One next step in every state") {
    CaseFile file = sample::open_case();
    CHECK(next_step(file, today) == "Add to the evidence: no photo of the label yet.");
    sample::add_all_views(file);
    file.hold.state = HoldState::evidence;
    CHECK(next_step(file, today) == "Mark the hold ready.");
    file.hold.state = HoldState::ready;
    CHECK(next_step(file, today) == "Make the query to the maker.");
    file.queries.emplace_back();
    CHECK(next_step(file, today) == "Send the query to the maker and mark it sent.");
    sample::add_finding(file, "melted", Outcome::retire, Millimetres(1.0));
    CHECK(next_step(file, today) ==
          "A competent person may give the verdict 'retire' now: retire criterion met: Named melted: "
          "common practice.");

    file = sample::asked_case();
    CHECK(next_step(file, sample::day("2026-03-14")) == "Wait for the maker's reply.");
    CHECK(next_step(file, sample::day("2026-03-15")).find("The reply has been due since 2026-03-14") == 0);
    sample::add_reply(file);
    CHECK(next_step(file, today) == "Read the reply and enter the maker's answer.");
    file.replies[0].automatic = true;
    CHECK(next_step(file, today) == "Wait for the maker's reply.");
    CHECK(next_step(sample::answered_case(MakersAnswer::fit), today) ==
          "A competent person gives the verdict.");
}

}  // namespace frayhold::record
