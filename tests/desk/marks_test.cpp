// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "desk/annotations.h"
#include "gauge/reading_words.h"
#include "sample_desk.h"

using namespace frayhold;
using namespace frayhold::desk;
using namespace frayhold::desk::sample;

namespace {

Drawn a_drawing() {
    Drawn drawn;
    drawn.corners_px = {cv::Point2d(10, 10), {90.25, 11}, {89, 60.5}, {11, 61}};
    drawn.marks.push_back({gauge::Measurand::distance, {{1.125, 2}, {30, 40.75}}, "the cut"});
    drawn.marks.push_back({gauge::Measurand::area, {{1, 1}, {20, 1}, {20, 20}}, ""});
    drawn.pins.push_back({{5, 6}, "glazed, \"hard\" <edge> – grün"});
    return drawn;
}

void check_same(const Drawn& a, const Drawn& b) {
    REQUIRE(a.corners_px.has_value() == b.corners_px.has_value());
    if (a.corners_px) CHECK(*a.corners_px == *b.corners_px);
    REQUIRE(a.marks.size() == b.marks.size());
    for (std::size_t i = 0; i < a.marks.size(); ++i) {
        CHECK(a.marks[i].measurand == b.marks[i].measurand);
        CHECK(a.marks[i].points_px == b.marks[i].points_px);
        CHECK(a.marks[i].label == b.marks[i].label);
    }
    REQUIRE(a.pins.size() == b.pins.size());
    for (std::size_t i = 0; i < a.pins.size(); ++i) {
        CHECK(a.pins[i].at_px == b.pins[i].at_px);
        CHECK(a.pins[i].words == b.pins[i].words);
    }
}

}  // namespace

TEST_CASE("What is drawn is kept with the photo; a later drawing takes its place") {
    const DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = open_hold(desk);
    add_all_views(desk, hold);
    const gauge::Reading cut = gauge::combine(gauge::Measurand::distance, 12.3, {{"the hand's pick", 0.2}});
    CHECK(desk.save_marks(hold, 3, a_drawing(), {cut}).turn == 1);
    CHECK(desk.save_marks(hold, 2, a_drawing(), {}).turn == 1);
    Drawn later = a_drawing();
    later.pins.clear();
    CHECK(desk.save_marks(hold, 3, later, {cut}).turn == 2);
    const record::CaseFile file = desk.case_file(hold);
    REQUIRE(file.marks.size() == 2);
    check_same(value_or_throw(drawn_from_annotations(file.marks[0].annotations)), a_drawing());
    check_same(value_or_throw(drawn_from_annotations(file.marks[1].annotations)), later);
    CHECK(actions(desk).back() == "photo.mark " + hold);
    check_sound(desk);
}

// W3C Web Annotation Data Model (Recommendation, 23 February 2017): 3.1 annotations, 3.2.4 embedded text
// bodies, 4.2.5 SVG selector, 5.2 annotation pages. From memory of the Recommendation.
TEST_CASE("A drawing is a page of Web Annotations as the Recommendation has them") {
    record::PhotoEntry photo;
    photo.hold = "H-2026-0001";
    photo.number = 2;
    photo.sha256 = std::string(64, 'a');
    const gauge::Reading cut = gauge::combine(gauge::Measurand::distance, 12.3, {{"the hand's pick", 0.2}});
    const auto page = nlohmann::json::parse(annotation_page(photo, a_drawing(), {cut}, "Ida Fenwright",
                                                            record::sample::at("2026-03-02T08:00:00Z")));
    CHECK(page.at("@context") == "http://www.w3.org/ns/anno.jsonld");
    CHECK(page.at("type") == "AnnotationPage");
    std::vector<std::string> ids{page.at("id")};
    for (const auto& item : page.at("items")) {
        CHECK(item.at("type") == "Annotation");
        ids.push_back(item.at("id"));
        CHECK(ids.back().substr(0, 9) == "urn:uuid:");
        CHECK(item.at("created") == "2026-03-02T08:00:00Z");
        CHECK(item.at("creator").at("type") == "Person");
        CHECK(item.at("target").at("source") == "nih:sha-256;" + photo.sha256);
        CHECK(item.at("target").at("selector").at("type") == "SvgSelector");
        for (const auto& body : item.at("body")) CHECK(body.at("type") == "TextualBody");
    }
    std::sort(ids.begin(), ids.end());
    CHECK(std::unique(ids.begin(), ids.end()) == ids.end());
    const auto& distance = page.at("items").at(1);
    // Half a pixel more: SVG counts from the corner of a pixel.
    CHECK(distance.at("target").at("selector").at("value") ==
          R"(<svg xmlns="http://www.w3.org/2000/svg"><polyline points="1.625,2.5 30.5,41.25"/></svg>)");
    CHECK(distance.at("body").at(2).at("value") == "distance " + gauge::value_words(cut));
}

TEST_CASE("Text that is no such page is refused") {
    for (
        const char* text :
        {"", "{}", "[]", "{\"items\":[{}]}", "{\"items\":3}",
         R"({"items":[{"body":[{"purpose":"classifying","value":"sail"}],"target":{"selector":{"value":"x"}}}]})"})
        CHECK_FALSE(drawn_from_annotations(text).has_value());
    CHECK(value_or_throw(drawn_from_annotations("{\"items\":[]}")).empty());
}

TEST_CASE("Drawing on a photo that is not there, or after the verdict, is refused") {
    const DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = open_hold(desk);
    add_all_views(desk, hold);
    CHECK(refused_unchanged(desk, [&] { (void)desk.save_marks(hold, 9, a_drawing(), {}); }).what ==
          "there is no photo 9");
    Drawn blank;
    blank.pins.push_back({{1, 1}, "  "});
    (void)refused_unchanged(desk, [&] { (void)desk.save_marks(hold, 1, blank, {}); });
    desk.give_verdict(hold, verdict_order(record::VerdictKind::send_to_maker));
    CHECK(refused_unchanged(desk, [&] { (void)desk.save_marks(hold, 1, a_drawing(), {}); }).fault ==
          Fault::refused);
}

TEST_CASE("A phone is known by its secret until it is revoked; the secret itself is not kept") {
    const DeskFolder folder;
    Desk desk = folder.open();
    const std::string secret(64, 'c');
    CHECK_FALSE(desk.paired_device(secret));
    CHECK(desk.pair_device(" yard phone ", "Ida Fenwright", record::Role::helper, secret).number == 1);
    CHECK(
        desk.pair_device("shed phone", "Tomas Oberlyn", record::Role::competent_person, std::string(64, 'd'))
            .number == 2);
    REQUIRE(desk.paired_device(secret));
    CHECK(desk.paired_device(secret)->name == "yard phone");
    for (const record::JournalEntry& entry : desk.journal({}))
        CHECK(entry.details.find(secret) == std::string::npos);
    CHECK(desk.revoke_device(1).revoked.has_value());
    CHECK_FALSE(desk.paired_device(secret));
    CHECK(desk.paired_device(std::string(64, 'd')));
    CHECK(desk.devices().size() == 2);
    CHECK(refused_unchanged(desk, [&] { (void)desk.revoke_device(1); }).fault == Fault::refused);
    CHECK(refused_unchanged(desk, [&] { (void)desk.revoke_device(3); }).fault == Fault::input);
    CHECK(refused_unchanged(desk, [&] {
              (void)desk.pair_device("", "Ida", record::Role::helper, secret);
          }).fault == Fault::input);
}

TEST_CASE("Holds are counted by state among those the words fit") {
    const DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = open_hold(desk);
    CHECK(desk.count_holds("").running == 1);
    CHECK(desk.count_holds(hold).running == 1);
    CHECK(desk.count_holds("nonesuch").running == 0);
    desk.give_verdict(hold, verdict_order(record::VerdictKind::send_to_maker));
    const HoldCounts counts = desk.count_holds("");
    CHECK(counts.running == 0);
    REQUIRE(counts.by_state.size() == 6);
    CHECK(counts.by_state.back() == std::pair(record::HoldState::verdict, 1));
}
