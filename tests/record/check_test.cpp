// SPDX-License-Identifier: Apache-2.0
#include "record/check.h"

#include <catch2/catch.hpp>

#include "record/life.h"
#include "record/sample_case.h"

namespace frayhold::record {
namespace {

using sample::day;

ItemCheck begun() {
    ItemCheck check;
    check.round = "R-2026-0001";
    check.item = "K-12";
    check.state = CheckState::begun;
    check.begun = sample::at("2026-03-02T09:00:00Z");
    return check;
}

ItemCheck all_done() {
    ItemCheck check = begun();
    for (const CheckStep step : {CheckStep::label_and_identity, CheckStep::stitching})
        check.steps.push_back({step, "", sample::keeper, sample::at("2026-03-02T09:05:00Z")});
    check.felt = {{0.0, 45'000.0}};
    return check;
}

void find_on(ItemCheck& check, const std::string& kind, criteria::Outcome outcome) {
    Finding finding;
    finding.number = static_cast<int>(check.findings.size()) + 1;
    finding.kind = kind;
    finding.kind_words = "Words for " + kind;
    finding.station = Millimetres(3200.0);
    finding.advice = {sample::advice(kind, outcome)};
    check.findings.push_back(finding);
}

Error refusal(const ItemCheck& check, CheckResult result, const std::string& words = "",
              const Item& item = sample::rope()) {
    const auto allowed = check_result(check, item, result, words, sample::today);
    REQUIRE_FALSE(allowed.has_value());
    CHECK(allowed.error().fault == Fault::refused);
    CHECK_FALSE(allowed.error().mend.empty());
    return allowed.error();
}

}  // namespace

TEST_CASE("Each kind is worked through in its order") {
    using S = CheckStep;
    CHECK(steps_for(Kind::rope_low_stretch) ==
          std::vector<S>{S::label_and_identity, S::stitching, S::every_metre});
    CHECK(steps_for(Kind::sewn_sling) ==
          std::vector<S>{S::label_and_identity, S::stitching, S::one_side, S::other_side});
    CHECK(steps_for(Kind::harness).back() == S::fittings);
    for (const Kind kind : all_kinds()) CHECK(steps_for(kind).front() == S::label_and_identity);
}

TEST_CASE("What was not felt is told to the millimetre") {
    const Millimetres length(10'000.0);
    CHECK(not_yet_felt({}, length) == std::vector<Stretch>{{0.0, 10'000.0}});
    CHECK(not_yet_felt({{0.0, 10'000.0}}, length).empty());
    CHECK(not_yet_felt({{0.0, 4000.0}, {6000.0, 10'000.0}}, length) ==
          std::vector<Stretch>{{4000.0, 6000.0}});
    // In any order, overlapping, one within another.
    CHECK(not_yet_felt({{6000.0, 9000.0}, {0.0, 4000.0}, {1000.0, 2000.0}, {3000.0, 5000.0}}, length) ==
          std::vector<Stretch>{{5000.0, 6000.0}, {9000.0, 10'000.0}});
    // Rope that has become shorter since it was felt.
    CHECK(not_yet_felt({{0.0, 4000.0}, {12'000.0, 13'000.0}}, length) ==
          std::vector<Stretch>{{4000.0, 10'000.0}});
}

TEST_CASE("A result of keep needs every step, and nothing found") {
    const Item rope = sample::rope();
    CHECK(check_result(all_done(), rope, CheckResult::keep, "", sample::today).has_value());

    SECTION("a step left out") {
        ItemCheck check = all_done();
        check.steps.pop_back();
        CHECK(refusal(check, CheckResult::keep).what.find("Stitching") != std::string::npos);
    }
    SECTION("a metre left out") {
        ItemCheck check = all_done();
        check.felt = {{0.0, 44'000.0}};
        CHECK(refusal(check, CheckResult::keep).what.find("44 m to 45 m") != std::string::npos);
        CHECK_FALSE(check_result(check, rope, CheckResult::keep_and_watch, "watch it", sample::today));
    }
    SECTION("no length recorded: nobody can say that all was felt") {
        Item unknown = rope;
        unknown.length.reset();
        CHECK(refusal(all_done(), CheckResult::keep, "", unknown).what.find("length is not recorded") !=
              std::string::npos);
    }
    SECTION("a finding") {
        ItemCheck check = all_done();
        find_on(check, "stiff", criteria::Outcome::hold_and_ask);
        CHECK(refusal(check, CheckResult::keep).what.find("Words for stiff: from the marked end: 3.2 m") !=
              std::string::npos);
    }
    SECTION("a life that is over, or of unknown end") {
        Item old = rope;
        old.first_used = day("2015-01-01");
        old.bought.reset();
        old.made = day("2015-01-01");
        CHECK(refusal(all_done(), CheckResult::keep, "", old).what.find("life is over") != std::string::npos);
        old.made.reset();
        old.first_used.reset();
        CHECK(refusal(all_done(), CheckResult::keep, "", old).what.find("counts as over") !=
              std::string::npos);
    }
}

TEST_CASE("Keep and watch says what to watch, and never passes over a retire criterion") {
    ItemCheck check = all_done();
    CHECK(refusal(check, CheckResult::keep_and_watch, " ").what == "it is not said what to watch");
    find_on(check, "gritty", criteria::Outcome::hold_and_ask);
    const auto against = check_result(check, sample::rope(), CheckResult::keep_and_watch,
                                      "wash it, feel again", sample::today);
    REQUIRE(against.has_value());
    CHECK(*against == std::vector<std::string>{"Words for gritty: from the marked end: 3.2 m"});
    find_on(check, "core_seen", criteria::Outcome::retire);
    CHECK(refusal(check, CheckResult::keep_and_watch, "watch it").what.find("a retire criterion is met") !=
          std::string::npos);
}

TEST_CASE("Hold and retire need a reason and nothing else") {
    CHECK(refusal(begun(), CheckResult::hold).what == "nothing says why");
    CHECK(check_result(begun(), sample::rope(), CheckResult::hold, "feels odd", sample::today).has_value());
    ItemCheck check = begun();
    find_on(check, "melted", criteria::Outcome::retire);
    CHECK(check_result(check, sample::rope(), CheckResult::retire, "", sample::today).has_value());
    CHECK(seen_words(check, "feels odd") ==
          "Found at a check: R-2026-0001: feels odd: Words for melted: from the marked end: 3.2 m");
    check.findings.front().side = "label side";
    check.findings.front().words = "shines";
    CHECK(seen_words(check, " ") ==
          "Found at a check: R-2026-0001: Words for melted: from the marked end: 3.2 m: label side: shines");
}

TEST_CASE("A rest is due after twenty minutes along a rope, and counts anew after a pause") {
    ItemCheck check = begun();
    const Item rope = sample::rope();
    CHECK(rest_words(check, rope, sample::at("2026-03-02T09:19:59Z")).empty());
    CHECK(rest_words(check, rope, sample::at("2026-03-02T09:20:00Z")).find("20 minutes") !=
          std::string::npos);
    Item sling = rope;
    sling.kind = Kind::sewn_sling;
    CHECK(rest_words(check, sling, sample::at("2026-03-02T10:00:00Z")).empty());
    check.pauses = {{sample::at("2026-03-02T09:20:00Z"), sample::keeper, sample::at("2026-03-02T09:30:00Z"),
                     sample::keeper}};
    CHECK(rest_words(check, rope, sample::at("2026-03-02T09:49:59Z")).empty());
    CHECK_FALSE(rest_words(check, rope, sample::at("2026-03-02T09:50:00Z")).empty());
    check.state = CheckState::paused;
    CHECK(rest_words(check, rope, sample::at("2026-03-02T12:00:00Z")).empty());
}

TEST_CASE("Of life rules the shorter counts, with its source") {
    const LifeRule makers{12, 10, "the maker"};
    CHECK(shorter_life({}, makers) == makers);
    CHECK(shorter_life({8, std::nullopt, "ours"}, makers) == LifeRule{8, 10, "the maker"});
    CHECK(shorter_life({8, 5, "ours"}, makers) == LifeRule{8, 5, "ours"});
    CHECK(shorter_life({20, 20, "ours"}, makers) == makers);
    CHECK(shorter_life({8, 5, "ours"}, {}) == LifeRule{8, 5, "ours"});
}

}  // namespace frayhold::record
