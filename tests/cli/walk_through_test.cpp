// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#include "program.h"

using program::Folder;
using program::Ran;

TEST_CASE("every line of the walk-through in README.md runs as written") {
    const Folder folder;
    std::filesystem::create_directory_symlink(std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos",
                                              folder.file("demo-photos"));
    const Ran ran = folder.shell("set -euo pipefail\n" + program::blocks_of("README.md"));
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
