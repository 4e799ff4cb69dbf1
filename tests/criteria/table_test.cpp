// SPDX-License-Identifier: Apache-2.0
#include "criteria/table.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "record/temp_folder.h"
#include "units/error.h"

namespace {

namespace fs = std::filesystem;
using frayhold::Failure;
using frayhold::Fault;
using frayhold::criteria::Criterion;
using frayhold::criteria::load_tables;
using frayhold::criteria::Measured;
using frayhold::criteria::Outcome;
using frayhold::criteria::Subject;
using frayhold::criteria::Table;

// A folder of table files that goes away with the test.
class TableFolder {
  public:
    fs::path write(const std::string& name, const std::string& text) const {
        fs::create_directories((path() / name).parent_path());
        std::ofstream(path() / name) << text;
        return path() / name;
    }
    [[nodiscard]] const fs::path& path() const { return folder_.path(); }

  private:
    frayhold::testing::TempFolder folder_;
};

Table load(const std::vector<fs::path>& files) {
    return load_tables(files);
}

const std::string common = R"({
  "title": "Common",
  "findings": [{"name": "melted", "subjects": "any", "words": "Melted"}],
  "criteria": [
    {"name": "nick", "subjects": ["webbing"], "measured": {"quantity": "nick_depth", "limit": "any"},
     "outcome": "retire", "source": "common practice", "words": "Retire."},
    {"name": "melted", "subjects": "any", "findings": ["melted"], "outcome": "retire",
     "source": "common practice", "words": "Retire."}
  ]})";

std::string table_with(const std::string& criterion) {
    return R"({"title": "T", "findings": [{"name": "melted", "subjects": "any", "words": "Melted"}], "criteria": [)" +
           criterion + "]}";
}

// The sentence with which a table is refused.
std::string refusal(const std::string& text) {
    const TableFolder folder;
    try {
        (void)load({folder.write("table.json", text)});
    } catch (const Failure& failure) {
        CHECK(failure.error().fault == Fault::input);
        CHECK(failure.error().where.ends_with("table.json"));
        CHECK_FALSE(failure.error().mend.empty());
        return failure.error().what;
    }
    return "not refused";
}

TEST_CASE("A table is read as written") {
    const TableFolder folder;
    const Table table = load({folder.write("common.json", common)});
    const auto webbing = table.criteria(Subject::webbing, "", "");
    REQUIRE(webbing.size() == 2);
    const Criterion& nick = webbing[0];
    CHECK(nick.name == "nick");
    REQUIRE(nick.measured);
    CHECK(nick.measured->quantity == frayhold::gauge::Measurand::nick_depth);
    CHECK(nick.measured->limit == 0.0);
    CHECK(nick.measured->side == Measured::Side::above);
    CHECK(nick.measured->guard_band == 1.0);
    CHECK_FALSE(nick.measured->ratio_to);
    CHECK(nick.outcome == Outcome::retire);
    CHECK_FALSE(nick.outcome_without_maker);
    CHECK_FALSE(nick.second_view);
    CHECK(table.criteria(Subject::rope, "", "").size() == 1);
    CHECK(table.findings(Subject::rope).size() == 1);
    CHECK(table.finding_named("melted")->words == "Melted");
    CHECK_FALSE(table.finding_named("Melted"));
}

TEST_CASE(
    "A maker's table takes the place of the common one, and a model's of the maker's, in any order of "
    "files") {
    const TableFolder folder;
    const auto own = [](const std::string& head, const std::string& words) {
        return R"({"title": "T", )" + head +
               R"( "criteria": [{"name": "nick", "subjects": ["webbing"],
               "measured": {"quantity": "nick_depth", "limit": 0.5, "guard_band": 0}, "outcome": "hold_and_ask",
               "source": "the maker's sheet", "words": ")" +
               words + R"("}]})";
    };
    const fs::path a =
        folder.write("a.json", own(R"("maker": "Kestrel Loom", "model": "Broadleaf 25",)", "model"));
    const fs::path b = folder.write("b.json", own(R"("maker": "Kestrel Loom",)", "maker"));
    const fs::path c = folder.write("c.json", common);
    const Table table = load({a, b, c});
    const auto words = [&](const std::string& maker, const std::string& model) {
        const auto criteria = table.criteria(Subject::webbing, maker, model);
        CHECK(criteria.size() == 2);
        return criteria.at(0).words;
    };
    CHECK(words("", "") == "Retire.");
    CHECK(words("Brandel & Voss Ropeworks", "Broadleaf 25") == "Retire.");
    CHECK(words("Kestrel Loom", "") == "maker");
    CHECK(words("kestrel  LOOM ", "Broadleaf 10") == "maker");
    CHECK(words("Kestrel Loom", "broadleaf 25") == "model");
}

TEST_CASE("A malformed table is refused with its file, field and mend") {
    const std::string good =
        R"("name": "n", "subjects": "any", "findings": ["melted"], "source": "s", "words": "w")";
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "retire"})")) == "not refused");

    CHECK(refusal("{") == "not JSON at byte 2");
    CHECK(refusal("") == "not JSON at byte 1");
    CHECK(refusal("[]") == "is not an object");
    CHECK(refusal(R"({"criteria": []})") == "title: is missing");
    CHECK(refusal(R"({"title": 3, "criteria": []})") == "title: is not a text");
    CHECK(refusal(R"({"title": "T"})") == "criteria: is missing");
    CHECK(refusal(R"({"title": "T", "criteria": {}})") == "criteria: is not a list");
    CHECK(refusal(R"({"title": "T", "model": "M", "criteria": []})") == "model: stands without a maker");
    CHECK(refusal(R"({"title": "T", "criterias": [], "criteria": []})") ==
          "criterias: is not a field of this form");
    CHECK(refusal(table_with("3")) == "criteria[0]: is not an object");
    CHECK(refusal(table_with("{" + good + "}")) == "criteria[0].outcome: is missing");
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "fit"})")) ==
          "criteria[0].outcome: 'fit' is not known");
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "no_criterion_met"})")) ==
          "criteria[0].outcome: a criterion that is met can't ask for nothing");
    CHECK(refusal(table_with("{" + good +
                             R"(, "outcome": "retire", "outcome_without_maker": "no_criterion_met"})")) ==
          "criteria[0].outcome: a criterion that is met can't ask for nothing");
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "retire", "guard_band": 1})")) ==
          "criteria[0].guard_band: is not a field of this form");
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "retire", "second_view": 1})")) ==
          "criteria[0].second_view: is neither true nor false");
    CHECK(refusal(table_with("{" + good + R"(, "outcome": "retire"}, {)" + good +
                             R"(, "outcome": "retire"})")) == "criterion 'n' is given twice");
}

TEST_CASE("A malformed criterion is refused field by field") {
    const auto with = [](const std::string& fields) {
        return refusal(table_with(R"({"outcome": "retire", "source": "s", "words": "w", )" + fields + "}"));
    };
    CHECK(with(R"("name": "Nick!", "subjects": "any", "findings": ["melted"])") ==
          "criteria[0].name: 'Nick!' is not a name");
    CHECK(with(R"("name": "", "subjects": "any", "findings": ["melted"])") ==
          "criteria[0].name: is not a text");
    CHECK(with(R"("name": "n", "subjects": "all", "findings": ["melted"])") ==
          "criteria[0].subjects: is not a list");
    CHECK(with(R"("name": "n", "subjects": [], "findings": ["melted"])") == "criteria[0].subjects: is empty");
    CHECK(with(R"("name": "n", "subjects": ["chain"], "findings": ["melted"])") ==
          "criteria[0].subjects: 'chain' is not known");
    CHECK(with(R"("name": "n", "subjects": "any")") == "criteria[0]: has neither 'measured' nor 'findings'");
    CHECK(with(R"("name": "n", "subjects": "any", "findings": [3])") ==
          "criteria[0].findings: holds something that is not a text");
    CHECK(with(R"("name": "n", "subjects": "any", "findings": ["molten"])") ==
          "criterion 'n' asks for the finding 'molten', which is not listed");

    const auto with_measured = [&](const std::string& fields) {
        return with(R"("name": "n", "subjects": "any", "measured": {)" + fields + "}");
    };
    const std::string at = "criteria[0].measured.";
    CHECK(with_measured(R"("limit": 1)") == at + "quantity: is missing");
    CHECK(with_measured(R"("quantity": "girth", "limit": 1)") == at + "quantity: 'girth' is not known");
    CHECK(with_measured(R"("quantity": "area")") == at + "limit: is missing");
    CHECK(with_measured(R"("quantity": "area", "limit": "some")") ==
          at + R"(limit: is neither a number nor "any")");
    CHECK(with_measured(R"("quantity": "area", "limit": "any", "side": "below")") ==
          at + R"(limit: "any" can't be met from below)");
    CHECK(with_measured(R"("quantity": "area", "limit": 1, "side": "left")") ==
          at + "side: 'left' is not known");
    CHECK(with_measured(R"("quantity": "area", "limit": 1, "ratio_to": 2)") ==
          at + "ratio_to: is not a text");
    CHECK(with_measured(R"("quantity": "area", "limit": 1, "guard_band": -1)") ==
          at + "guard_band: is not a number of 0 or more");
    CHECK(with_measured(R"("quantity": "area", "limit": 1, "limits": 2)") ==
          at + "limits: is not a field of this form");
}

TEST_CASE("A finding listed twice is refused") {
    CHECK(refusal(R"({"title": "T", "criteria": [], "findings": [
        {"name": "melted", "subjects": "any", "words": "a"}, {"name": "melted", "subjects": "any", "words": "b"}]})") ==
          "findings: 'melted' is listed twice");
}

TEST_CASE("A table that is not there is refused") {
    CHECK_THROWS_AS(load({"no-such-table.json"}), Failure);
}

TEST_CASE("Table files are those of the first folder that exists, sorted") {
    const TableFolder folder;
    folder.write("z.json", common);
    folder.write("makers/a.json", common);
    folder.write("form.md", "not a table");
    const std::vector<fs::path> folders{folder.path() / "none", folder.path(), folder.path() / "makers"};
    const auto files = frayhold::criteria::table_files(folders);
    REQUIRE(files.size() == 2);
    CHECK(files[0].filename() == "a.json");
    CHECK(files[1].filename() == "z.json");
}

TEST_CASE("No folder of tables, or an empty one, is a fault of the installation") {
    const TableFolder folder;
    const auto fault = [](const std::vector<fs::path>& folders) {
        try {
            (void)frayhold::criteria::table_files(folders);
        } catch (const Failure& failure) {
            return failure.error().fault;
        }
        return Fault::usage;
    };
    CHECK(fault({folder.path() / "none"}) == Fault::outside);
    CHECK(fault({}) == Fault::outside);
    CHECK(fault({folder.path()}) == Fault::outside);
}

TEST_CASE("Subjects and outcomes lead from name to value and back") {
    for (const Subject subject : {Subject::rope, Subject::webbing, Subject::lanyard})
        CHECK(frayhold::criteria::subject_named(name_of(subject)) == subject);
    for (const Outcome outcome : {Outcome::retire, Outcome::hold_and_ask, Outcome::no_criterion_met})
        CHECK(frayhold::criteria::outcome_named(name_of(outcome)) == outcome);
    CHECK_FALSE(frayhold::criteria::outcome_named("fit"));
}

}  // namespace
