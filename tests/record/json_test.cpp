// SPDX-License-Identifier: Apache-2.0
#include "record/json.h"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "record/sample_case.h"

namespace frayhold::record {

TEST_CASE("An item as JSON has what is recorded and no more") {
    const auto whole = as_json(sample::rope());
    CHECK(whole["mark"] == "K-12");
    CHECK(whole["kind"] == "rope_low_stretch");
    CHECK(whole["length_mm"] == 45'000.0);
    CHECK(whole["made"] == "2021-07-14");
    CHECK(whole["life_years_from_first_use"] == 10);
    CHECK_FALSE(whole.contains("limit"));
    Item bare;
    bare.mark = "K-1";
    CHECK(as_json(bare).dump() == R"({"mark":"K-1","kind":"rope_low_stretch","status":"in_service"})");
}

TEST_CASE("A reading as JSON carries its uncertainty and its unit in the name") {
    gauge::Reading reading =
        gauge::combine(gauge::Measurand::fray_width, 17.25, {{"card size", 0.1}, {"edge", 0.2, 12.0}});
    reading.outline_px = {{1.5, 2.0}};
    const auto json = as_json(reading);
    CHECK(json["quantity"] == "fray_width");
    CHECK(json["value_mm"] == 17.25);
    CHECK(json["u"].get<double>() == Approx(std::hypot(0.1, 0.2)));
    CHECK(json["U"].get<double>() == Approx(reading.k * reading.u));
    CHECK(json["outline_px"].dump() == "[[1.5,2.0]]");
    CHECK(json["budget"][0]["dof"].is_null());
    CHECK(json["budget"][1]["dof"] == 12.0);
    CHECK(as_json(gauge::combine(gauge::Measurand::core_area, 3.0, {{"edge", 0.5}})).contains("value_mm2"));
    CHECK(as_json(gauge::combine(gauge::Measurand::nick_share, 0.1, {{"edge", 0.01}})).contains("value"));
}

TEST_CASE("A verdict against a rule shows so") {
    Verdict plain = sample::verdict(VerdictKind::retire_and_destroy);
    CHECK(as_json(plain)["override"] == false);
    plain.given_against = {"the maker has not answered"};
    CHECK(as_json(plain)["override"] == true);
    CHECK(as_json(plain)["given_against"][0] == "the maker has not answered");
}

TEST_CASE("A case as JSON holds every part of it") {
    CaseFile file = sample::answered_case(MakersAnswer::fit_with_limit, "no more than two years");
    sample::add_finding(file, "stiff", criteria::Outcome::hold_and_ask, Millimetres(3200.0));
    file.waived.push_back({file.hold.number, PhotoRole::label, "label worn off", sample::keeper, {}});
    file.verdict = sample::verdict(VerdictKind::send_to_maker);
    file.earlier.push_back({file.hold, file.findings, std::nullopt});
    JournalEntry entry;
    entry.number = 1;
    entry.details = R"({"seen":"fuzz"})";
    file.journal = {entry};
    const auto json = as_json(file);
    CHECK(json["hold"]["state"] == "answered");
    CHECK(json["evidence"].size() == 4);
    CHECK(json["photos"].size() == 4);
    CHECK(json["findings"][0]["station_mm"] == 3200.0);
    CHECK(json["findings"][0]["advice"][0]["outcome"] == "hold_and_ask");
    CHECK(json["advice"][0]["criterion"] == "stiff");
    CHECK(json["replies"][0]["answer"]["limit"] == "no more than two years");
    CHECK(json["queries"][0]["sent"] == "2026-02-28T11:00:00Z");
    CHECK(json["verdict"]["kind"] == "send_to_maker");
    CHECK(json["earlier"][0]["verdict"].is_null());
    CHECK(json["journal"][0]["details"]["seen"] == "fuzz");
    CHECK(json["waived"][0]["role"] == "label");
}

TEST_CASE("Where a finding lies, in words") {
    Finding finding;
    CHECK(place_words(finding).empty());
    finding.side = "left side";
    CHECK(place_words(finding) == "left side");
    finding.station = Millimetres(3200.0);
    CHECK(place_words(finding) == "at 3.2 m, left side");
}

}  // namespace frayhold::record
