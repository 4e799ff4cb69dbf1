// SPDX-License-Identifier: Apache-2.0
#include "record/evidence.h"

#include <catch2/catch.hpp>

#include "record/sample_case.h"

namespace frayhold::record {
using sample::add_photo;

namespace {

ViewState state_of(const CaseFile& file, PhotoRole role) {
    for (const RequiredView& view : evidence_list(file))
        if (view.role == role) return view.state;
    FAIL("the view is not on the list");
    return ViewState::missing;
}

}  // namespace

TEST_CASE("A new hold misses four views") {
    const CaseFile file = sample::open_case();
    CHECK(missing_evidence(file) ==
          std::vector<std::string>{"no photo of the label yet", "no photo of the whole item yet",
                                   "no photo of the damage, close up with the card yet",
                                   "no photo of the damage from the other side with the card yet"});
}

TEST_CASE("The list is complete with one photo of each view that passes") {
    CaseFile file = sample::open_case();
    add_photo(file, PhotoRole::label);
    add_photo(file, PhotoRole::whole_item);
    add_photo(file, PhotoRole::close_up);
    CHECK(missing_evidence(file).size() == 1);
    add_photo(file, PhotoRole::other_side);
    CHECK(missing_evidence(file).empty());
}

TEST_CASE("A photo that fails its check does not count, and says why") {
    CaseFile file = sample::open_case();
    add_photo(file, PhotoRole::close_up, false);
    CHECK(state_of(file, PhotoRole::close_up) == ViewState::unusable);
    CHECK(missing_evidence(file).at(2) ==
          "photo 1 of the damage, close up with the card cannot be used: blurred: take it again");
    add_photo(file, PhotoRole::close_up);
    CHECK(state_of(file, PhotoRole::close_up) == ViewState::present);
}

TEST_CASE("A measured view needs the card, a label does not") {
    CaseFile file = sample::open_case();
    add_photo(file, PhotoRole::label, true, false);
    add_photo(file, PhotoRole::whole_item, true, false);
    add_photo(file, PhotoRole::close_up, true, false);
    CHECK(state_of(file, PhotoRole::label) == ViewState::present);
    CHECK(state_of(file, PhotoRole::whole_item) == ViewState::present);
    CHECK(state_of(file, PhotoRole::close_up) == ViewState::unusable);
    CHECK(missing_evidence(file).front() ==
          "photo 3 of the damage, close up with the card cannot be used: the card is not seen in it");
}

TEST_CASE("A view that cannot be had is waived by its reason") {
    CaseFile file = sample::open_case();
    file.waived.push_back({file.hold.number, PhotoRole::label, "label worn off", sample::keeper, {}});
    CHECK(state_of(file, PhotoRole::label) == ViewState::waived);
    CHECK(evidence_list(file).front().words == "the label: cannot be had (label worn off)");
    CHECK(missing_evidence(file).size() == 3);
}

TEST_CASE("A criterion may ask for a second view") {
    CaseFile file = sample::open_case();
    sample::add_all_views(file);
    REQUIRE(missing_evidence(file).empty());
    AdviceEntry fray = sample::advice("heavy_fray", criteria::Outcome::hold_and_ask);
    fray.second_view = true;
    fray.because = "fray_width / sound_width 1.62 ± 0.05, limit 1.50";
    file.photos[2].advice = {fray};
    CHECK(missing_evidence(file) ==
          std::vector<std::string>{"no photo of a second view of the damage with the card yet, asked for "
                                   "because of: fray width / sound width 1.62 ± 0.05, limit 1.50"});
    add_photo(file, PhotoRole::second_view);
    CHECK(missing_evidence(file).empty());
}

TEST_CASE("All advice lists each criterion and outcome once") {
    CaseFile file = sample::open_case();
    sample::add_all_views(file);
    AdviceEntry none = sample::advice("", criteria::Outcome::no_criterion_met);
    file.photos[0].advice = {none};
    file.photos[2].advice = {none};
    CHECK(file.all_advice() == std::vector<AdviceEntry>{none});
    const AdviceEntry fray = sample::advice("heavy_fray", criteria::Outcome::hold_and_ask);
    file.photos[2].advice = {fray};
    file.photos[3].advice = {fray};
    CHECK(file.all_advice() == std::vector<AdviceEntry>{fray});
}

TEST_CASE("The last answer entered counts") {
    CaseFile file = sample::answered_case(MakersAnswer::cannot_say);
    sample::add_reply(file);
    CHECK(file.makers_answer()->answer == MakersAnswer::cannot_say);
    AnswerEntry later;
    later.answer = MakersAnswer::not_fit;
    later.entered = sample::at("2026-03-01T12:00:00Z");
    file.replies.back().answer = later;
    CHECK(file.makers_answer()->answer == MakersAnswer::not_fit);
    std::swap(file.replies[0], file.replies[1]);
    CHECK(file.makers_answer()->answer == MakersAnswer::not_fit);
    CHECK_FALSE(sample::asked_case().makers_answer().has_value());
}

}  // namespace frayhold::record
