// SPDX-License-Identifier: Apache-2.0
// The commands that docs/promises.md names prove something: each selects at least one test.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <regex>
#include <string>

#include "cli/program.h"

namespace {

std::size_t lines_of(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

}  // namespace

TEST_CASE("Every command in the promises selects a test") {
    std::ifstream file(std::string(FRAYHOLD_SOURCE_DIR) + "/docs/promises.md");
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const std::string bin = std::filesystem::path(FRAYHOLD_PROGRAM).parent_path().string();
    static const std::regex binary(R"re(\.build/bin/(test_[a-z_]+)(?: ("[^"]*"))?)re");
    static const std::regex by_ctest(R"re(ctest --test-dir \.build -R ("[^"]*"|[a-z_]+))re");
    const program::Folder folder;
    std::size_t checked = 0;
    for (std::sregex_iterator at(text.begin(), text.end(), binary), end; at != end; ++at) {
        const std::string command = bin + "/" + (*at)[1].str() + " --list-test-names-only " + (*at)[2].str();
        INFO(command);
        CHECK(lines_of(folder.shell(command).out) > 0);
        ++checked;
    }
    for (std::sregex_iterator at(text.begin(), text.end(), by_ctest), end; at != end; ++at) {
        const std::string pattern =
            std::regex_replace((*at)[1].str(), std::regex(R"(\\\|)"), "|");  // a table's own bar
        const std::string command = "ctest --test-dir " + bin + "/.. -N -R " + pattern;
        INFO(command);
        CHECK(folder.shell(command).out.find("Total Tests: 0") == std::string::npos);
        ++checked;
    }
    CHECK(checked > 15);
}
