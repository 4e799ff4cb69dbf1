// SPDX-License-Identifier: Apache-2.0
// docs/schemas against what the program writes, by a validator that knows nothing of Frayhold.
#include <catch2/catch.hpp>
#include <string>

#include "cli/program.h"

namespace {

const std::string source = FRAYHOLD_SOURCE_DIR;

program::Ran check(const program::Folder& folder, const std::string& schema, const std::string& files) {
    return folder.shell(std::string(FRAYHOLD_PYTHON) + " " + source + "/tests/docs/check_schema.py " +
                        source + "/docs/schemas/" + schema + " " + files);
}

}  // namespace

TEST_CASE("every report of gauge is as docs/schemas/gauge.schema.json says") {
    const program::Folder folder;
    const auto gauge = [&](const std::string& words, const std::string& file) {
        const program::Ran ran =
            folder.shell("frayhold gauge " + source + "/demo-photos/" + words + " --json > " + file);
        CHECK((ran.exit_code == 0 || ran.exit_code == 3));
    };
    gauge("arbolane-fray-near-side.jpg --subject rope --monte-carlo 1000 --against " + source +
              "/demo-photos/arbolane-fray-far-side.jpg",
          "against.json");
    gauge("arbolane-core.jpg --subject rope", "core.json");
    gauge("broadleaf-nick.jpg --subject webbing", "nick.json");
    gauge("arbolane-fray-near-side.jpg --subject rope --rule 1408,2670,2246,2205,85.6", "rule.json");
    gauge("refused-no-card.jpg --subject rope", "refused.json");
    const program::Ran ran =
        check(folder, "gauge.schema.json", "against.json core.json nick.json rule.json refused.json");
    INFO(ran.out);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
}

TEST_CASE("the case in a pack is as docs/schemas/case.schema.json says") {
    const program::Folder folder;
    REQUIRE(folder.frayhold("demo show").exit_code == 0);
    REQUIRE(folder
                .shell("FRAYHOLD_BY='Ida Fenwright' FRAYHOLD_STORE=show/store frayhold pack make H-2026-0001 "
                       "-o after")
                .exit_code == 0);
    const program::Ran ran =
        check(folder, "case.schema.json", "show/pack/data/case.json after/data/case.json");
    INFO(ran.out);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
}
