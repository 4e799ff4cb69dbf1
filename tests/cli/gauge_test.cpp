// SPDX-License-Identifier: Apache-2.0
// The shape of `frayhold gauge --json`, a contract for other programs.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "program.h"

using nlohmann::json;
using program::Folder;
using program::Ran;

namespace {

const std::string photos = std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos/";

void check_points(const json& points, std::size_t least) {
    REQUIRE(points.is_array());
    CHECK(points.size() >= least);
    for (const json& point : points) {
        REQUIRE(point.size() == 2);
        CHECK((point[0].is_number() && point[1].is_number()));
    }
}

void check_reading(const json& reading) {
    INFO(reading.dump());
    CHECK(reading.at("quantity").is_string());
    const bool length = reading.contains("value_mm");
    const bool area = reading.contains("value_mm2");
    const bool plain = reading.contains("value");
    CHECK(int(length) + int(area) + int(plain) == 1);
    CHECK(reading.at("u").get<double>() >= 0.0);
    CHECK(reading.at("k").get<double>() >= 1.9);
    CHECK(reading.at("U").get<double>() ==
          Approx(reading.at("k").get<double>() * reading.at("u").get<double>()));
    CHECK((reading.at("dof").is_null() || reading.at("dof").get<double>() > 0.0));
    check_points(reading.at("outline_px"), 0);
    double squares = 0.0;
    REQUIRE_FALSE(reading.at("budget").empty());
    for (const json& line : reading.at("budget")) {
        CHECK_FALSE(line.at("source").get<std::string>().empty());
        squares += std::pow(line.at("u").get<double>(), 2);
    }
    CHECK(std::sqrt(squares) == Approx(reading.at("u").get<double>()).margin(1e-12));
}

}  // namespace

TEST_CASE("a measured photo gives every field of the contract") {
    const Folder folder;
    const Ran ran = folder.frayhold("gauge " + photos +
                                    "arbolane-fray-near-side.jpg --subject rope --json --mark out.jpg");
    REQUIRE(ran.exit_code == 0);
    CHECK(ran.err.empty());
    const json report = json::parse(ran.out);
    const json& photo = report.at("photo");
    // As sha256sum of coreutils and ExifTool tell it; the picture stands upright: orientation 6 turns it.
    CHECK(photo.at("sha256").get<std::string>() + "\n" ==
          folder.shell("sha256sum " + photos + "arbolane-fray-near-side.jpg | cut -d' ' -f1").out);
    CHECK(std::to_string(photo.at("height_px").get<int>()) + "\n" ==
          folder.shell("exiftool -s3 -ImageWidth " + photos + "arbolane-fray-near-side.jpg").out);
    CHECK(photo.at("width_px").get<int>() < photo.at("height_px").get<int>());
    CHECK(photo.at("taken").get<std::string>().starts_with("2026-02-28T"));
    CHECK(photo.at("camera") == "Ashmeer Optics Field 3");

    const json& quality = report.at("quality");
    CHECK(quality.at("usable") == true);
    CHECK(quality.at("reasons").empty());
    CHECK(quality.at("sharpness").get<double>() > 0.12);
    CHECK(quality.at("clipped_fraction").get<double>() < 0.5);

    const json& card = report.at("card");
    CHECK(card.at("kind") == "printed");
    check_points(card.at("corners_px"), 4);
    CHECK(card.at("corners_px").size() == 4);
    CHECK(card.at("tilt_deg").is_number());
    CHECK(card.at("distance_mm").is_number());
    CHECK(card.at("mm_per_px").get<double>() > 0.0);
    CHECK(card.at("rms_px").get<double>() >= 0.0);

    REQUIRE_FALSE(report.at("readings").empty());
    for (const json& reading : report.at("readings")) check_reading(reading);

    const json& profile = report.at("profile");
    CHECK(profile.at("station_mm").size() == profile.at("width_mm").size());
    CHECK(profile.at("station_mm").size() > 20);
    CHECK(profile.at("baseline_mm").get<double>() > 0.0);

    REQUIRE_FALSE(report.at("advice").empty());
    for (const json& advice : report.at("advice")) {
        const auto outcome = advice.at("outcome").get<std::string>();
        CHECK((outcome == "retire" || outcome == "hold_and_ask" || outcome == "no_criterion_met"));
        CHECK((advice.at("criterion").is_string() || advice.at("criterion").is_null()));
        CHECK((advice.at("probability").is_number() || advice.at("probability").is_null()));
        CHECK(advice.at("source").is_string());
    }
    CHECK(folder.files() == std::vector<std::string>{"out.jpg"});
    CHECK(folder.shell("djpeg out.jpg > /dev/null").exit_code == 0);
}

TEST_CASE("numbers are not rounded and the same photo gives the same bytes") {
    const Folder folder;
    const std::string words = "gauge " + photos + "arbolane-fray-near-side.jpg --subject rope --json --mark ";
    const Ran first = folder.frayhold(words + "one.jpg");
    const Ran second = folder.frayhold(words + "two.jpg");
    CHECK(first.out == second.out);
    CHECK(folder.read("one.jpg") == folder.read("two.jpg"));
    const double u = json::parse(first.out).at("readings").at(0).at("u").get<double>();
    CHECK(std::abs(u * 1e6 - std::round(u * 1e6)) > 0.0);
}

TEST_CASE("a readable photo that cannot be measured prints its JSON, one line of why, and ends in 3") {
    const Folder folder;
    for (const std::string photo : {"refused-blurred.jpg", "refused-no-card.jpg", "refused-card-cut-off.jpg",
                                    "refused-card-under-rope.jpg", "refused-glare.jpg"}) {
        INFO(photo);
        const Ran ran = folder.frayhold("gauge " + photos + photo + " --subject rope --json --mark out.jpg");
        CHECK(ran.exit_code == 3);
        CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
        const json report = json::parse(ran.out);
        CHECK(report.at("quality").at("usable") == false);
        REQUIRE_FALSE(report.at("quality").at("reasons").empty());
        CHECK(ran.err.find(report.at("quality").at("reasons").at(0).get<std::string>()) != std::string::npos);
        CHECK(report.at("readings").empty());
        CHECK(report.at("profile").is_null());
        CHECK(folder.files().empty());
    }
}

TEST_CASE("for a person every value stands with its uncertainty, and the caution is last") {
    const Folder folder;
    const Ran ran = folder.frayhold("gauge " + photos + "arbolane-fray-near-side.jpg --subject rope");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("sound width") != std::string::npos);
    CHECK(ran.out.find(" ± ") != std::string::npos);
    CHECK(ran.out.ends_with("The maker's instructions, local law and a competent person come first.\n"));
}

// The scenes are drawn by this project; what is held here is that the whole way from file to report keeps to
// their truth.
TEST_CASE("what is told of each demo photo is what was drawn") {
    const std::string name =
        GENERATE("arbolane-fray-near-side", "arbolane-fray-far-side", "arbolane-core", "arbolane-flattened",
                 "arbolane-glazed", "white-rope-core", "broadleaf-nick", "broadleaf-fluffed-edge");
    INFO(name);
    std::ifstream in(photos + "manifest.json");
    const json listed = json::parse(in).at("photos");
    const auto photo = std::find_if(listed.begin(), listed.end(),
                                    [&](const json& each) { return each.at("file") == name + ".jpg"; });
    REQUIRE(photo != listed.end());
    const json truth = photo->at("truth");
    const Folder folder;
    const Ran ran = folder.frayhold("gauge " + photos + name + ".jpg --subject " +
                                    photo->at("subject").get<std::string>() + " --json");
    REQUIRE(ran.exit_code == 0);
    const json report = json::parse(ran.out);
    std::set<std::string> read;
    for (const json& reading : report.at("readings")) {
        INFO(reading.at("quantity"));
        const auto quantity = reading.at("quantity").get<std::string>();
        read.insert(quantity);
        REQUIRE(truth.contains(quantity));
        const auto value = std::find_if(reading.items().begin(), reading.items().end(),
                                        [](const auto& item) { return item.key().starts_with("value"); });
        REQUIRE(value != reading.items().end());
        CHECK(std::abs(value.value().template get<double>() - truth.at(quantity).get<double>()) <=
              reading.at("U").get<double>());
    }
    // A few yarns cut at the rim of a hole stand out too little to be a fray of their own; core in a sheath
    // of its colour cannot be told; a glazed length is felt.
    const std::set<std::string> not_to_be_read =
        name == "arbolane-core" || name == "white-rope-core"
            ? std::set<std::string>{"fray_width", "fray_dense_width", "fray_length", "fray_area"}
            : std::set<std::string>{"glaze_length"};
    for (const auto& [quantity, value] : truth.items()) {
        INFO(quantity);
        const bool measurand = quantity.ends_with("_width") || quantity.ends_with("_length") ||
                               quantity.ends_with("_area") || quantity.ends_with("_depth");
        const bool pale_core = name == "white-rope-core" && quantity.starts_with("core_");
        if (measurand && !pale_core && !not_to_be_read.contains(quantity)) CHECK(read.contains(quantity));
    }
}

TEST_CASE("an earlier photo, a rule and draws each add their part to the report") {
    const Folder folder;
    const Ran ran =
        folder.frayhold("gauge " + photos + "arbolane-fray-far-side.jpg --subject rope --json --against " +
                        photos + "arbolane-fray-near-side.jpg --monte-carlo 1000");
    REQUIRE(ran.exit_code == 0);
    const json report = json::parse(ran.out);
    const json& changes = report.at("against").at("changes");
    REQUIRE_FALSE(changes.empty());
    for (const json& change : changes) {
        INFO(change.dump());
        if (change.at("before").is_null() || change.at("after").is_null()) continue;
        CHECK(change.at("change").at("U").get<double>() > change.at("after").at("U").get<double>());
    }
    CHECK(report.at("readings")[0].at("monte_carlo").at("draws") == 1000);

    const Ran words =
        folder.frayhold("gauge " + photos + "arbolane-fray-far-side.jpg --subject rope --against " + photos +
                        "refused-blurred.jpg");
    CHECK(words.exit_code == 3);
    CHECK(words.err.find("the earlier photo cannot be measured") != std::string::npos);

    const Ran rule =
        folder.frayhold("gauge " + photos +
                        "arbolane-fray-near-side.jpg --subject rope --json --rule 1408,2670,2246,2205,85.6");
    REQUIRE(rule.exit_code == 0);
    CHECK(json::parse(rule.out).at("card").at("kind") == "rule");
    CHECK(folder.frayhold("gauge " + photos + "arbolane-fray-near-side.jpg --subject rope --rule 1,2,3")
              .exit_code == 2);
}

// Words before the command are for the program of every command, which measures too.
TEST_CASE("both programs behind the command measure alike and say the same of it") {
    const Folder folder;
    for (const std::string words :
         {"gauge --help", "gauge nothing.jpg --subject rope", "gauge --subjekt rope"}) {
        INFO(words);
        const Ran alone = folder.frayhold(words), among_all = folder.frayhold("--store store " + words);
        CHECK(alone.exit_code == among_all.exit_code);
        CHECK(alone.out == among_all.out);
        CHECK(alone.err == among_all.err);
    }
    const std::string measure = "gauge " + photos + "white-rope-core.jpg --subject rope --json";
    const Ran alone = folder.frayhold(measure), among_all = folder.frayhold("--store store " + measure);
    CHECK(alone.exit_code == 0);
    CHECK(alone.out == among_all.out);
}
