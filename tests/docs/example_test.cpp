// SPDX-License-Identifier: Apache-2.0
// docs/examples: what a program of another's prints must be what the product itself prints.
#include <catch2/catch.hpp>
#include <sstream>
#include <string>

#include "cli/program.h"

TEST_CASE("the example of the library reads a rope as the product does") {
    const program::Folder folder;
    const std::string photo = std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos/arbolane-fray-near-side.jpg";
    const program::Ran example = folder.shell(std::string(FRAYHOLD_EXAMPLE) + " " + photo);
    INFO(example.err);
    REQUIRE(example.exit_code == 0);
    std::istringstream lines(example.out);
    std::string line;
    int readings = 0;
    for (; std::getline(lines, line); ++readings) CHECK(line.find(" ± ") != std::string::npos);
    CHECK(readings >= 2);

    CHECK(folder.shell(std::string(FRAYHOLD_EXAMPLE) + " none.jpg").exit_code == 1);
}
