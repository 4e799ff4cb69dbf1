// SPDX-License-Identifier: Apache-2.0
#include <nlohmann/json.hpp>

#include "desk/sample_desk.h"

namespace frayhold::desk {

using record::HoldState;
using record::PhotoRole;
using sample::photo_order;

TEST_CASE("A photo is kept as it came, with what was measured of it") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    folder.measuring->readings = {gauge::combine(gauge::Measurand::fray_width, 17.25,
                                                 {{"card size", 0.1}, {"edge", 0.2}}, {{1.5, 2.5}})};
    folder.measuring->advice = {record::sample::advice("heavy_fray", criteria::Outcome::hold_and_ask)};
    PhotoOrder order = photo_order(PhotoRole::close_up, 5);
    order.file_name = "DSC\xff 1.jpg";
    const record::PhotoEntry added = desk.add_photo(hold, order);
    CHECK(added.number == 1);
    CHECK(added.usable);
    CHECK(added.card_found);
    CHECK(added.size_bytes == static_cast<std::int64_t>(order.bytes.size()));
    CHECK(added.file_name == "DSC\xEF\xBF\xBD 1.jpg");
    CHECK(desk.kept_bytes(added.sha256) == order.bytes);
    CHECK(sample::text_of(desk.kept_bytes(added.markup_sha256)) == "mark-up of " + added.sha256);

    const record::CaseFile file = desk.case_file(hold);
    CHECK(file.hold.state == HoldState::evidence);
    REQUIRE(file.photos.size() == 1);
    CHECK(file.photos[0].readings[0].value == 17.25);
    CHECK(file.photos[0].report_json == "{\"photo\":\"" + added.sha256 + "\"}");
    CHECK(file.all_advice() == folder.measuring->advice);
    const auto details = nlohmann::json::parse(file.journal.back().details);
    CHECK(details["sha256"] == added.sha256);
    CHECK(details["readings"][0]["value_mm"] == 17.25);
    CHECK(details["readings"][0]["U"].get<double>() > 0.0);
    sample::check_sound(desk);
}

TEST_CASE("What is asked of the gauge follows from the item and the view") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    desk.add_photo(hold, photo_order(PhotoRole::label, 1));
    desk.add_photo(hold, photo_order(PhotoRole::close_up, 2));
    PhotoOrder own = photo_order(PhotoRole::close_up, 3);
    own.request = gauge::Request{};
    own.request->card = gauge::CardChoice::id1;
    desk.add_photo(hold, own);
    REQUIRE(folder.measuring->asked.size() == 3);
    CHECK(folder.measuring->asked[0].card == gauge::CardChoice::none);
    CHECK(folder.measuring->asked[1].card == gauge::CardChoice::automatic);
    CHECK(folder.measuring->asked[1].subject == gauge::Subject::rope);
    CHECK(folder.measuring->asked[1].nominal == Millimetres(11.0));
    CHECK(folder.measuring->asked[2].card == gauge::CardChoice::id1);
    CHECK_FALSE(folder.measuring->asked[2].nominal.has_value());
    record::Item sling;
    sling.kind = record::Kind::sewn_sling;
    CHECK(usual_request(sling, PhotoRole::close_up).subject == gauge::Subject::webbing);
}

TEST_CASE("A label needs no card but must be sharp") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    folder.measuring->usable = false;
    folder.measuring->card = false;
    CHECK(desk.add_photo(hold, photo_order(PhotoRole::label, 1)).usable);
    CHECK_FALSE(desk.add_photo(hold, photo_order(PhotoRole::close_up, 2)).usable);
    folder.measuring->sharpness = 0.1;
    const record::PhotoEntry blurred = desk.add_photo(hold, photo_order(PhotoRole::whole_item, 3));
    CHECK_FALSE(blurred.usable);
    CHECK(blurred.reasons.at(0).find("blurred") == 0);
}

TEST_CASE("A photo that cannot be read changes nothing") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    const auto add = [&](std::vector<std::byte> bytes) {
        PhotoOrder order = photo_order(PhotoRole::label, 1);
        order.bytes = std::move(bytes);
        return sample::refused_unchanged(desk, [&] { desk.add_photo(hold, order); });
    };
    CHECK(add(sample::bytes_of("this is a text file named .jpg")).fault == Fault::input);
    CHECK(add({}).what == "the file is empty");
    std::vector<std::byte> cut = sample::picture(1);
    cut.resize(cut.size() / 2);
    CHECK(add(cut).fault == Fault::input);
    CHECK(desk.case_file(hold).hold.state == HoldState::open);
    CHECK(folder.measuring->asked.empty());
}

TEST_CASE("The very same photo is refused a second time in one hold, not in another") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    const record::PhotoEntry first = desk.add_photo(hold, photo_order(PhotoRole::close_up, 1));
    const Error error =
        sample::refused_unchanged(desk, [&] { desk.add_photo(hold, photo_order(PhotoRole::other_side, 1)); });
    CHECK(error.fault == Fault::refused);
    CHECK(error.what ==
          "this very photo is already photo 1 of the hold, as the damage, close up with the card");
    record::Item other = record::sample::rope();
    other.mark = "K-14";
    desk.add_item(other);
    const std::string second = desk.open_hold("K-14", "fuzz").number;
    CHECK(desk.add_photo(second, photo_order(PhotoRole::close_up, 1)).sha256 == first.sha256);
    CHECK(desk.verify().kept_files == 2);
}

TEST_CASE("Measuring that fails changes nothing") {
    const sample::DeskFolder folder;
    Setup setup = folder.setup();
    setup.measure = [](const photo::Photo&, const PhotoOrder&, const gauge::Request&,
                       const record::Item&) -> MeasuredPhoto {
        throw Failure(Fault::usage, "card", "the request contradicts itself", "change it");
    };
    Desk desk(setup);
    const std::string hold = sample::open_hold(desk);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.add_photo(hold, photo_order(PhotoRole::label, 1));
          }).fault == Fault::usage);
    CHECK(desk.verify().kept_files == 0);
}

TEST_CASE("The list completes itself, and its completion is in the journal") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    desk.waive_view(hold, PhotoRole::label, " label worn off ");
    CHECK(desk.case_file(hold).waived[0].reason == "label worn off");
    desk.add_photo(hold, photo_order(PhotoRole::whole_item, 1));
    desk.add_photo(hold, photo_order(PhotoRole::close_up, 2));
    const Error missing = sample::refused_unchanged(desk, [&] { desk.mark_ready(hold); });
    CHECK(missing.fault == Fault::refused);
    CHECK(missing.what ==
          "the evidence list is not complete: no photo of the damage from the other side with the card yet");
    folder.measuring->usable = false;
    desk.add_photo(hold, photo_order(PhotoRole::other_side, 3));
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.mark_ready(hold);
          }).what.find("glare on the card: shade it") != std::string::npos);
    folder.measuring->usable = true;
    desk.add_photo(hold, photo_order(PhotoRole::other_side, 4));
    CHECK(desk.case_file(hold).hold.state == HoldState::ready);
    CHECK(sample::actions(desk).back() == "hold.ready " + hold);
    const std::size_t entries = desk.journal({}).size();
    CHECK(desk.mark_ready(hold).state == HoldState::ready);
    CHECK(desk.journal({}).size() == entries);
}

TEST_CASE("A view is waived once, for a reason, and only where it is missing") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    CHECK(sample::refused_unchanged(desk, [&] { desk.waive_view(hold, PhotoRole::label, " "); }).fault ==
          Fault::refused);
    desk.waive_view(hold, PhotoRole::label, "label worn off");
    CHECK(sample::refused_unchanged(desk, [&] { desk.waive_view(hold, PhotoRole::label, "again"); }).fault ==
          Fault::refused);
    desk.add_photo(hold, photo_order(PhotoRole::whole_item, 1));
    CHECK(sample::refused_unchanged(desk, [&] { desk.waive_view(hold, PhotoRole::whole_item, "x"); }).fault ==
          Fault::refused);
}

TEST_CASE("A finding is weighed by the criteria when it is recorded") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    record::Finding felt;
    felt.kind = "core_seen";
    felt.station = Millimetres(12'000.0);
    felt.found_by = "Bram Tolley";
    const record::Finding finding = desk.add_finding(hold, felt);
    CHECK(finding.found_by == "Bram Tolley");
    REQUIRE_FALSE(finding.advice.empty());
    CHECK(finding.advice[0].criterion == "core_seen");
    CHECK(finding.advice[0].outcome == criteria::Outcome::retire);
    CHECK(finding.advice[0].probability == 1.0);
    CHECK(desk.case_file(hold).findings == std::vector<record::Finding>{finding});
}

TEST_CASE("A finding that no table knows, or off the item, is refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    record::Finding felt;
    felt.kind = "bewitched";
    const Error unknown = sample::refused_unchanged(desk, [&] { desk.add_finding(hold, felt); });
    CHECK(unknown.fault == Fault::input);
    CHECK(unknown.what == "no such finding is known for a low-stretch rope");
    CHECK(unknown.mend.find("core_seen") != std::string::npos);
    // Known for webbing, not for rope.
    felt.kind = "edge_nicked";
    CHECK(sample::refused_unchanged(desk, [&] { desk.add_finding(hold, felt); }).fault == Fault::input);
    felt.kind = "stiff";
    felt.station = Millimetres(45'001.0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.add_finding(hold, felt); }).what ==
          "45.001 m is not on the item, which is 45 m long");
    felt.station = Millimetres(-1.0);
    CHECK(sample::refused_unchanged(desk, [&] { desk.add_finding(hold, felt); }).where == "station");
    felt.station = Millimetres(45'000.0);
    CHECK(desk.add_finding(hold, felt).number == 1);
}

}  // namespace frayhold::desk
