// SPDX-License-Identifier: Apache-2.0
#include "criteria/advice.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "criteria/conformity.h"
#include "language/languages.h"
#include "language/recorded.h"
#include "language/speaking.h"
#include "record/temp_folder.h"
#include "units/error.h"

namespace {

using frayhold::criteria::About;
using frayhold::criteria::Advice;
using frayhold::criteria::advise;
using frayhold::criteria::because_words;
using frayhold::criteria::HandFinding;
using frayhold::criteria::nearly_one;
using frayhold::criteria::nearly_zero;
using frayhold::criteria::Outcome;
using frayhold::criteria::Subject;
using frayhold::criteria::Table;
using frayhold::gauge::combine;
using frayhold::gauge::Measurand;
using frayhold::gauge::Reading;

Table table_of(const std::string& text) {
    const frayhold::testing::TempFolder folder;
    const std::vector files{folder.path() / "table.json"};
    std::ofstream(files.front()) << text;
    return frayhold::criteria::load_tables(files);
}

// A limit of 2 mm on the depth of a nick; without and with guard band; one from below; one ratio.
Table small_table() {
    return table_of(R"({
      "title": "T",
      "findings": [{"name": "melted", "subjects": "any", "words": "Melted"},
                   {"name": "paint", "subjects": "any", "words": "Paint"},
                   {"name": "scuffed", "subjects": "any", "words": "Scuffed"}],
      "criteria": [
        {"name": "deep_nick", "subjects": ["webbing"], "measured": {"quantity": "nick_depth", "limit": 2},
         "findings": ["melted"], "outcome": "retire", "source": "S 1", "words": "Retire.", "second_view": true},
        {"name": "simple", "subjects": ["webbing"],
         "measured": {"quantity": "nick_length", "limit": 2, "guard_band": 0},
         "outcome": "hold_and_ask", "source": "S 2", "words": "Ask."},
        {"name": "narrowed", "subjects": ["rope"],
         "measured": {"quantity": "local_width", "ratio_to": "sound_width", "limit": 0.9, "side": "below"},
         "outcome": "retire", "source": "S 3", "words": "Retire."},
        {"name": "painted", "subjects": "any", "findings": ["paint"], "outcome": "hold_and_ask",
         "outcome_without_maker": "retire", "source": "S 4", "words": "Ask."}
      ]})");
}

Reading reading(Measurand measurand, double value, double u) {
    return combine(measurand, value, {{"all", u}});
}

std::vector<Advice> for_webbing(const std::vector<Reading>& readings,
                                const std::vector<HandFinding>& findings = {}) {
    return advise(readings, findings, small_table(), {Subject::webbing, "", "", true});
}

TEST_CASE("A reading well past the limit meets the criterion") {
    const auto advice = for_webbing({reading(Measurand::nick_depth, 3.0, 0.1)});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].criterion == "deep_nick");
    CHECK(advice[0].outcome == Outcome::retire);
    CHECK(*advice[0].probability == Approx(1.0));
    CHECK_FALSE(advice[0].borderline);
    CHECK(advice[0].second_view);
    CHECK(advice[0].source == "S 1");
    CHECK(advice[0].words == "Retire.");
    CHECK(advice[0].because == "nick_depth 3.0 ± 0.2 mm, limit 2.0 mm");
}

TEST_CASE("A reading past the limit by less than 2 u meets it, marked borderline") {
    const auto advice = for_webbing({reading(Measurand::nick_depth, 2.15, 0.1)});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].outcome == Outcome::retire);
    CHECK(advice[0].borderline);
    CHECK(*advice[0].probability == Approx(0.9331927987).epsilon(1e-9));  // Phi(1.5)
}

TEST_CASE("A reading within the guard band is held and asked about, never passed") {
    for (const double value : {2.0, 1.9, 1.81}) {
        CAPTURE(value);
        const auto advice = for_webbing({reading(Measurand::nick_depth, value, 0.1)});
        REQUIRE(advice.size() == 1);
        CHECK(advice[0].outcome == Outcome::hold_and_ask);
        CHECK(advice[0].borderline);
        CHECK(advice[0].words.starts_with("Too close to the limit to tell"));
        CHECK(*advice[0].probability > nearly_zero);
    }
}

TEST_CASE("A reading clear of the guard band meets nothing, and that is said without calling the item fit") {
    const auto advice = for_webbing({reading(Measurand::nick_depth, 1.79, 0.1)});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].criterion.empty());
    CHECK(advice[0].outcome == Outcome::no_criterion_met);
    CHECK(advice[0].words == "No criterion met: the competent person decides.");
    CHECK(*advice[0].probability == Approx(0.0178644).epsilon(1e-4));  // Phi(-2.1)
}

TEST_CASE("Without a guard band a near miss is still shown") {
    const auto advice = for_webbing({reading(Measurand::nick_length, 1.9, 0.1)});
    REQUIRE(advice.size() == 2);
    CHECK(advice[0].criterion == "simple");
    CHECK(advice[0].outcome == Outcome::no_criterion_met);
    CHECK(advice[0].borderline);
    CHECK(advice[0].words.starts_with("Not past the limit by the table's rule, but near it."));
    CHECK(advice[1].criterion.empty());
    CHECK(*advice[1].probability == Approx(*advice[0].probability));
}

TEST_CASE("Nothing read and nothing found leaves no probability, and no comfort") {
    const auto advice = for_webbing({});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].outcome == Outcome::no_criterion_met);
    CHECK_FALSE(advice[0].probability);
}

TEST_CASE("A limit from below turns the signs, and a ratio uses both readings") {
    const auto rope = [](double local, double sound) {
        const std::vector readings{reading(Measurand::local_width, local, 0.1),
                                   reading(Measurand::sound_width, sound, 0.1)};
        return advise(readings, {}, small_table(), {Subject::rope, "", "", true});
    };
    const auto met = rope(8.0, 11.0);
    CHECK(met.at(0).criterion == "narrowed");
    CHECK(met.at(0).outcome == Outcome::retire);
    CHECK_FALSE(met.at(0).borderline);
    CHECK(met.at(0).because == "local_width / sound_width 0.73 ± 0.02, limit 0.90");
    CHECK(rope(9.95, 11.0).at(0).outcome == Outcome::hold_and_ask);
    CHECK(rope(10.9, 11.0).at(0).outcome == Outcome::no_criterion_met);
    CHECK(rope(10.9, 11.0).at(0).criterion.empty());
}

TEST_CASE("A ratio without its second reading says nothing") {
    const std::vector readings{reading(Measurand::local_width, 5.0, 0.1)};
    const auto advice = advise(readings, {}, small_table(), {Subject::rope, "", "", true});
    REQUIRE(advice.size() == 1);
    CHECK_FALSE(advice[0].probability);
}

TEST_CASE("Of several readings of one quantity the worst counts") {
    const auto advice =
        for_webbing({reading(Measurand::nick_depth, 1.0, 0.1), reading(Measurand::nick_depth, 9.0, 0.1),
                     reading(Measurand::nick_depth, 4.0, 0.1)});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].because == "nick_depth 9.0 ± 0.2 mm, limit 2.0 mm");
}

TEST_CASE("A finding meets its criterion whatever was read, and both are told") {
    const auto advice = for_webbing({reading(Measurand::nick_depth, 0.1, 0.1)},
                                    {{"melted", "3.2 m, left side"}, {"melted", ""}});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].outcome == Outcome::retire);
    CHECK(advice[0].probability == 1.0);
    CHECK_FALSE(advice[0].borderline);
    CHECK(advice[0].second_view);
    CHECK(advice[0].because == "Melted, 3.2 m, left side; Melted; nick_depth 0.1 ± 0.2 mm, limit 2.0 mm");
}

TEST_CASE("Where no maker can be asked the outcome is the sterner one") {
    const std::vector findings{HandFinding{"paint", ""}};
    CHECK(advise({}, findings, small_table(), {Subject::rope, "", "", true}).at(0).outcome ==
          Outcome::hold_and_ask);
    CHECK(advise({}, findings, small_table(), {Subject::rope, "", "", false}).at(0).outcome ==
          Outcome::retire);
}

TEST_CASE("A finding no criterion asks for holds the item") {
    // 'scuffed' stands in no criterion; 'melted' in one for webbing only.
    for (const char* kind : {"scuffed", "melted"}) {
        CAPTURE(kind);
        const std::vector findings{HandFinding{kind, ""}};
        const auto advice = advise({}, findings, small_table(), {Subject::rope, "", "", true});
        REQUIRE(advice.size() == 1);
        CHECK(advice[0].criterion == kind);
        CHECK(advice[0].outcome == Outcome::hold_and_ask);
    }
}

TEST_CASE("A finding no table knows is refused by name") {
    const std::vector findings{HandFinding{"molten", ""}};
    try {
        (void)advise({}, findings, small_table(), {});
        FAIL("accepted");
    } catch (const frayhold::Failure& failure) {
        CHECK(failure.error().fault == frayhold::Fault::input);
        CHECK(failure.error().what == "'molten' is in no table");
    }
}

TEST_CASE("The most severe advice comes first, then the most probable") {
    const auto advice =
        for_webbing({reading(Measurand::nick_depth, 1.9, 0.1), reading(Measurand::nick_length, 9.0, 0.1)},
                    {{"paint", ""}});
    REQUIRE(advice.size() == 3);
    CHECK(advice[0].criterion == "simple");
    CHECK(advice[1].criterion == "painted");
    CHECK(advice[2].criterion == "deep_nick");
    CHECK(for_webbing({}, {{"paint", ""}, {"melted", ""}}).at(0).criterion == "deep_nick");
}

}  // namespace

TEST_CASE("What met a criterion is shown with its quantities in words") {
    CHECK(because_words("") == "");
    CHECK(because_words("nick_depth 3.0 ± 0.2 mm, limit 2.0 mm") == "nick depth 3.0 ± 0.2 mm, limit 2.0 mm");
    CHECK(because_words("local_width / sound_width 0.73 ± 0.02, limit 0.90") ==
          "local width / sound width 0.73 ± 0.02, limit 0.90");
    CHECK(because_words("core_area 0.4 ± 0.2 mm2, any counts") == "core area 0.4 ± 0.2 mm2, any counts");
    for (const std::string as_kept : {"Melted, at 3.2 m, left_side; by the label", "nick_depth ± 2, limit 3",
                                      " ± , limit ", "a ± b", "; ; "})
        CHECK(because_words(as_kept) == as_kept);
}

TEST_CASE("Advice is kept in English and shown in the language in force") {
    frayhold::language::Languages languages({TEST_CATALOGUES});
    const frayhold::language::Speaking german(languages.of("de"));
    const auto advice = for_webbing({reading(Measurand::nick_depth, 1.9, 0.1)});
    REQUIRE(advice.size() == 1);
    CHECK(advice[0].words ==
          "Too close to the limit to tell: hold the item and ask. If it is past the limit: Retire.");
    CHECK(frayhold::tr_recorded(advice[0].words) ==
          "Zu nah an der Grenze: sperren und fragen. Ist sie überschritten: Aussondern.");
    CHECK(advice[0].because == "nick_depth 1.9 ± 0.2 mm, limit 2.0 mm");
    CHECK(because_words(advice[0].because) == "Kerbtiefe 1.9 ± 0.2 mm, Grenze 2.0 mm");
    CHECK(because_words("local_width / sound_width 0.73 ± 0.02, limit 0.90") ==
          "Breite dort / sound width 0.73 ± 0.02, Grenze 0.90");
    CHECK(
        because_words("Stiff length, not shiny, at 3.2 m, left side; nick_depth 0.4 ± 0.2 mm, any counts") ==
        "Steife Strecke, ohne Glanz, bei 3.2 m, left side; Kerbtiefe 0.4 ± 0.2 mm, jede zählt");
}
