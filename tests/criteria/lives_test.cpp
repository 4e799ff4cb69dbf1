// SPDX-License-Identifier: Apache-2.0
#include "criteria/lives.h"

#include <array>
#include <catch2/catch.hpp>
#include <fstream>

#include "criteria/table.h"
#include "record/temp_folder.h"
#include "units/error.h"

namespace frayhold::criteria {
namespace {

constexpr std::array<std::string_view, 3> kinds{"rope_low_stretch", "accessory_cord", "harness"};

LifeTable loaded(const testing::TempFolder& folder, const std::string& lives) {
    const auto path = folder.path() / "maker.json";
    std::ofstream(path) << R"({"title": "t", "maker": "Brandel & Voss Ropeworks", "lives": [)" << lives
                        << "]}";
    return load_lives({{path}}, kinds);
}

std::string refusal(const std::string& lives) {
    const testing::TempFolder folder;
    try {
        static_cast<void>(loaded(folder, lives));
    } catch (const Failure& failure) {
        CHECK(failure.error().fault == Fault::input);
        return failure.error().sentence();
    }
    return "";
}

}  // namespace

TEST_CASE("The nearest line of the maker's table counts") {
    const testing::TempFolder folder;
    const LifeTable table = loaded(folder, R"(
        {"years_from_made": 12, "source": "all"},
        {"kind": "accessory_cord", "years_from_made": 8, "source": "cord"},
        {"model": "Arbolane 11", "years_from_made": 10, "years_from_first_use": 7, "source": "model"})");
    const std::string maker = "brandel  & VOSS ropeworks";
    CHECK(table.life_of(maker, "Another", "harness")->source == "all");
    CHECK(table.life_of(maker, "Another", "accessory_cord")->years_from_made == 8);
    const auto model = table.life_of(maker, "arbolane 11", "accessory_cord");
    REQUIRE(model.has_value());
    CHECK(model->years_from_made == 10);
    CHECK(model->years_from_first_use == 7);
    CHECK_FALSE(table.life_of("Kestrel Loom", "Arbolane 11", "harness").has_value());
    CHECK_FALSE(table.life_of("", "", "harness").has_value());
}

TEST_CASE("A table of lives that is not in its form is refused") {
    CHECK(refusal(R"({"source": "s"})").find("neither 'years_from_made' nor") != std::string::npos);
    CHECK(refusal(R"({"years_from_made": 0, "source": "s"})").find("lives[0].years_from_made") !=
          std::string::npos);
    CHECK(refusal(R"({"years_from_made": 7.5, "source": "s"})").find("whole number") != std::string::npos);
    CHECK(refusal(R"({"years_from_made": 10})").find("source: is missing") != std::string::npos);
    CHECK(refusal(R"({"kind": "boat", "years_from_made": 10, "source": "s"})").find("'boat' is not known") !=
          std::string::npos);
    CHECK(refusal(R"({"years": 10, "years_from_made": 10, "source": "s"})").find("is not a field") !=
          std::string::npos);
    CHECK(refusal(R"({"years_from_made": 10, "source": "s"}, {"years_from_made": 9, "source": "s"})")
              .find("another line") != std::string::npos);
}

TEST_CASE("The tables that come with the program load, each line with its source") {
    const std::array<std::filesystem::path, 1> folders{std::string(FRAYHOLD_SOURCE_DIR) + "/templates/lives"};
    const LifeTable table = load_lives(table_files(folders), kinds);
    const auto life = table.life_of("Brandel & Voss Ropeworks", "Arbolane 11", "rope_low_stretch");
    REQUIRE(life.has_value());
    CHECK_FALSE(life->source.empty());
}

}  // namespace frayhold::criteria
