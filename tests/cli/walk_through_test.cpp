// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "program.h"

using program::Folder;
using program::Ran;

namespace {

// The fenced block of shell in README.md, as a reader would copy it.
std::string walk_through() {
    std::ifstream file(std::string(FRAYHOLD_SOURCE_DIR) + "/README.md");
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    const std::string fence = "```sh\n";
    const std::size_t from = text.find(fence);
    REQUIRE(from != std::string::npos);
    const std::size_t to = text.find("```", from + fence.size());
    REQUIRE(to != std::string::npos);
    return text.substr(from + fence.size(), to - from - fence.size());
}

}  // namespace

TEST_CASE("every line of the walk-through in README.md runs as written") {
    const Folder folder;
    std::filesystem::create_directory_symlink(std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos",
                                              folder.file("demo-photos"));
    const Ran ran = folder.shell("set -euo pipefail\n" + walk_through());
    INFO(ran.out);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
    // The refused photo, then the refused verdict.
    CHECK(ran.out.find("exit code 3\n") != std::string::npos);
    CHECK(ran.out.find("exit code 4\n") != std::string::npos);
    CHECK(ran.out.find("KT-R014 is now retired") != std::string::npos);
    for (const std::string file : {"card.pdf", "marked.jpg", "pack/bagit.txt", "query.eml", "labels.pdf",
                                   "record.pdf", "charts/leaving-by-month.svg", "copy/frayhold.db"})
        CHECK(std::filesystem::exists(folder.file("my-first-hold") / file));
}
