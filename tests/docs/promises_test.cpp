// SPDX-License-Identifier: Apache-2.0
// The commands that docs/promises.md names prove something: each selects at least one test.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <regex>
#include <string>

namespace {

std::string output_of(const std::string& command) {
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    REQUIRE(pipe != nullptr);
    std::string text;
    std::array<char, 4096> some{};
    while (const std::size_t count = std::fread(some.data(), 1, some.size(), pipe.get()))
        text.append(some.data(), count);
    return text;
}

std::size_t lines_of(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

}  // namespace

TEST_CASE("Every command in the promises selects a test") {
    std::ifstream file(std::string(FRAYHOLD_SOURCE_DIR) + "/docs/promises.md");
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const std::string bin = std::filesystem::path(FRAYHOLD_PROGRAM).parent_path().string();
    static const std::regex program(R"re(\.build/bin/(test_[a-z_]+)(?: ("[^"]*"))?)re");
    static const std::regex by_ctest(R"re(ctest --test-dir \.build -R ("[^"]*"|[a-z_]+))re");
    std::size_t checked = 0;
    for (std::sregex_iterator at(text.begin(), text.end(), program), end; at != end; ++at) {
        const std::string command = bin + "/" + (*at)[1].str() + " --list-test-names-only " + (*at)[2].str();
        INFO(command);
        CHECK(lines_of(output_of(command)) > 0);
        ++checked;
    }
    for (std::sregex_iterator at(text.begin(), text.end(), by_ctest), end; at != end; ++at) {
        const std::string pattern =
            std::regex_replace((*at)[1].str(), std::regex(R"(\\\|)"), "|");  // a table's own bar
        const std::string command = "ctest --test-dir " + bin + "/.. -N -R " + pattern;
        INFO(command);
        CHECK(output_of(command).find("Total Tests: 0") == std::string::npos);
        ++checked;
    }
    CHECK(checked > 15);
}
