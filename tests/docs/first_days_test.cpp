// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#include "cli/program.h"

TEST_CASE("every command of docs/first-days.md runs as written, in its order") {
    const program::Folder folder;
    std::filesystem::create_directory_symlink(std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos",
                                              folder.file("demo-photos"));
    const std::string blocks = program::blocks_of("docs/first-days.md");
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
