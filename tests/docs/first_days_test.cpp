// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "cli/program.h"

namespace {

// Every fenced block of shell, one after another, as a reader would copy them.
std::string shell_blocks(const std::string& file_name) {
    std::ifstream file(std::string(FRAYHOLD_SOURCE_DIR) + "/docs/" + file_name);
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    const std::string fence = "```sh\n";
    std::string blocks;
    for (std::size_t from = text.find(fence); from != std::string::npos; from = text.find(fence, from)) {
        from += fence.size();
        const std::size_t to = text.find("```", from);
        REQUIRE(to != std::string::npos);
        blocks += text.substr(from, to - from);
        from = to;
    }
    return blocks;
}

}  // namespace

TEST_CASE("every command of docs/first-days.md runs as written, in its order") {
    const program::Folder folder;
    std::filesystem::create_directory_symlink(std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos",
                                              folder.file("demo-photos"));
    const std::string blocks = shell_blocks("first-days.md");
    REQUIRE(blocks.find("verdict give") != std::string::npos);
    const program::Ran ran = folder.shell("set -euo pipefail\n" + blocks);
    INFO(ran.out);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("kept, and refused as evidence\n") != std::string::npos);
    CHECK(ran.out.find("KT-R020 is now retired") != std::string::npos);
    for (const std::string file : {"card.pdf", "marked.jpg", "pack/data/case.json", "query.eml"})
        CHECK(std::filesystem::exists(folder.file(file)));
}
