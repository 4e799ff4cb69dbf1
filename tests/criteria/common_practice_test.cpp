// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cctype>
#include <filesystem>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "criteria/advice.h"

namespace {

using frayhold::criteria::advise;
using frayhold::criteria::Criterion;
using frayhold::criteria::HandFinding;
using frayhold::criteria::Outcome;
using frayhold::criteria::Subject;
using frayhold::criteria::Table;
using frayhold::gauge::combine;
using frayhold::gauge::Measurand;
using frayhold::gauge::Reading;

constexpr std::array subjects{Subject::rope, Subject::webbing, Subject::lanyard};

const Table& shipped() {
    static const Table table = [] {
        const std::vector<std::filesystem::path> folders{std::filesystem::path(FRAYHOLD_SOURCE_DIR) /
                                                         "templates/criteria"};
        return frayhold::criteria::load_tables(frayhold::criteria::table_files(folders));
    }();
    return table;
}

// What the trade does with each finding. Common practice, no source, but for 'shock_load', 'label_unreadable'
// and 'other_doubt': EN 365:2004, from memory.
struct Practice {
    const char* finding;
    Subject subject;
    const char* criterion;
    Outcome outcome;
    Outcome without_maker;
};
constexpr Outcome retire = Outcome::retire;
constexpr Outcome ask = Outcome::hold_and_ask;
constexpr Practice practice[] = {
    {"core_seen", Subject::rope, "core_seen", retire, retire},
    {"core_seen", Subject::lanyard, "core_seen", retire, retire},
    {"sheath_yarns_cut", Subject::rope, "sheath_yarns_cut", retire, retire},
    {"heavy_fray", Subject::rope, "heavy_fray", ask, retire},
    {"flat_spot", Subject::rope, "core_damage_felt", retire, retire},
    {"lump", Subject::rope, "core_damage_felt", retire, retire},
    {"soft_place", Subject::lanyard, "core_damage_felt", retire, retire},
    {"sheath_bunched", Subject::rope, "sheath_bunched", retire, retire},
    {"stiff", Subject::webbing, "stiff_or_gritty", ask, ask},
    {"gritty", Subject::rope, "stiff_or_gritty", ask, ask},
    {"glazed", Subject::rope, "glazed", retire, retire},
    {"glazed", Subject::webbing, "glazed", retire, retire},
    {"melted", Subject::lanyard, "melted", retire, retire},
    {"edge_nicked", Subject::webbing, "edge_nicked", retire, retire},
    {"edge_fluffed", Subject::webbing, "edge_fluffed", ask, retire},
    {"stitches_broken", Subject::webbing, "stitches_broken", retire, retire},
    {"stitches_broken", Subject::rope, "stitches_broken", retire, retire},
    {"contamination_unknown", Subject::rope, "contaminated", ask, retire},
    {"sticky", Subject::webbing, "contaminated", ask, retire},
    {"chemical", Subject::rope, "contaminated", ask, retire},
    {"solvent_marker", Subject::webbing, "marked_or_painted", ask, retire},
    {"paint", Subject::rope, "marked_or_painted", ask, retire},
    {"faded", Subject::webbing, "faded", ask, retire},
    {"knot_stuck", Subject::lanyard, "knot_stuck_in_lanyard", retire, retire},
    {"knot_stuck", Subject::rope, "knot_stuck", ask, retire},
    {"knot_stuck", Subject::webbing, "knot_stuck", ask, retire},
    {"sleeve_holed", Subject::lanyard, "sleeve_holed", ask, ask},
    {"label_unreadable", Subject::lanyard, "label_unreadable", ask, retire},
    {"life_over", Subject::rope, "life_over", retire, retire},
    {"shock_load", Subject::lanyard, "shock_load", retire, retire},
    {"other_doubt", Subject::rope, "other_doubt", ask, retire},
};

TEST_CASE("Each hand finding asks for what common practice does") {
    for (const Practice& each : practice) {
        CAPTURE(each.finding, std::string(name_of(each.subject)));
        const std::vector findings{HandFinding{each.finding, ""}};
        const auto asked = advise({}, findings, shipped(), {each.subject, "", "", true});
        REQUIRE(asked.size() == 1);
        CHECK(asked[0].criterion == each.criterion);
        CHECK(asked[0].outcome == each.outcome);
        const auto not_asked = advise({}, findings, shipped(), {each.subject, "", "", false});
        CHECK(not_asked.at(0).outcome == each.without_maker);
    }
}

// Readings clearly past the limit and clearly short of it.
struct Measure {
    Measurand quantity;
    double past;
    double short_of;
    Subject subject;
    const char* criterion;
    Outcome outcome;
};
constexpr Measure measures[] = {
    {Measurand::core_area, 12.0, 0.0, Subject::rope, "core_seen", retire},
    {Measurand::fray_width, 18.0, 12.0, Subject::rope, "heavy_fray", ask},
    {Measurand::local_width, 8.5, 9.6, Subject::rope, "narrowed", retire},
    {Measurand::local_width, 11.6, 10.3, Subject::rope, "swollen", ask},
    {Measurand::glaze_length, 15.0, 0.0, Subject::webbing, "glazed", retire},
    {Measurand::nick_depth, 1.0, 0.0, Subject::webbing, "edge_nicked", retire},
    {Measurand::fluff_length, 40.0, 10.0, Subject::webbing, "edge_fluffed", ask},
    {Measurand::stitch_gaps, 1.0, 0.0, Subject::webbing, "stitches_broken", retire},
};

TEST_CASE("Each reading asks for what the shipped table says") {
    for (const Measure& each : measures) {
        CAPTURE(each.criterion);
        const auto advice_for = [&](double value) {
            // Found: u of 0.1. Looked for and not found: exactly nothing.
            const std::vector<Reading> readings{
                combine(each.quantity, value, {{"all", value == 0.0 ? 0.0 : 0.1}}),
                combine(Measurand::sound_width, 10.0, {{"all", 0.05}}),
                combine(Measurand::web_width, 25.0, {{"all", 0.05}})};
            return advise(readings, {}, shipped(), {each.subject, "", "", true});
        };
        const auto met = advice_for(each.past);
        REQUIRE(met.size() == 1);
        CHECK(met[0].criterion == each.criterion);
        CHECK(met[0].outcome == each.outcome);
        CHECK_FALSE(met[0].borderline);
        const auto not_met = advice_for(each.short_of);
        REQUIRE(not_met.size() == 1);
        CHECK(not_met[0].criterion.empty());
        CHECK(not_met[0].outcome == Outcome::no_criterion_met);
    }
}

TEST_CASE("Every shipped criterion and finding is exercised above") {
    std::set<std::string> criteria;
    std::set<std::string> findings;
    for (const Practice& each : practice) {
        criteria.insert(each.criterion);
        findings.insert(each.finding);
    }
    for (const Measure& each : measures) criteria.insert(each.criterion);
    for (const Subject subject : subjects) {
        for (const Criterion& criterion : shipped().criteria(subject, "", "")) {
            CAPTURE(criterion.name);
            CHECK(criteria.contains(criterion.name));
            CHECK_FALSE(criterion.source.empty());
        }
        for (const auto& finding : shipped().findings(subject)) {
            CAPTURE(finding.name);
            CHECK(findings.contains(finding.name));
        }
    }
}

TEST_CASE("Every shipped finding has a criterion for every subject it is offered for") {
    for (const Subject subject : subjects)
        for (const auto& finding : shipped().findings(subject)) {
            CAPTURE(finding.name, std::string(name_of(subject)));
            const std::vector findings{HandFinding{finding.name, ""}};
            const auto advice = advise({}, findings, shipped(), {subject, "", "", true});
            CHECK(advice.at(0).source != "no criterion for this finding");
        }
}

std::set<std::string> words_of(const std::string& text) {
    std::set<std::string> words;
    std::string word;
    for (const char c : text + " ") {
        if (std::isalpha(static_cast<unsigned char>(c)) != 0)
            word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
        else if (!word.empty())
            words.insert(std::exchange(word, ""));
    }
    return words;
}

TEST_CASE("No shipped word calls an item fit or safe") {
    CHECK(words_of("It is FIT, not safe.") == std::set<std::string>{"it", "is", "fit", "not", "safe"});
    for (const Subject subject : subjects) {
        std::vector<std::string> texts;
        for (const Criterion& criterion : shipped().criteria(subject, "", ""))
            texts.push_back(criterion.words);
        for (const auto& finding : shipped().findings(subject)) texts.push_back(finding.words);
        CHECK(texts.size() > 10);
        for (const std::string& text : texts) {
            CAPTURE(text);
            for (const char* banned : {"fit", "safe", "ok", "pass", "passed", "approved"})
                CHECK_FALSE(words_of(text).contains(banned));
        }
    }
}

}  // namespace
