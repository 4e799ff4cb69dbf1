// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#include "program.h"

using program::Folder;
using program::Ran;

TEST_CASE("the demo runs through and leaves what it names") {
    const Folder folder;
    const Ran ran = folder.frayhold("demo show");
    INFO(ran.out);
    INFO(ran.err);
    REQUIRE(ran.exit_code == 0);
    for (const std::string file : {"show/card.pdf", "show/pack/data/case.pdf", "show/H-2026-0001.pdf",
                                   "show/marked.jpg", "show/query.eml", "show/reply.eml"})
        CHECK(std::filesystem::exists(folder.file(file)));
    CHECK(ran.out.find("[19/19]") != std::string::npos);
    CHECK(ran.out.find("[20/") == std::string::npos);
    CHECK(folder.shell("cd show/pack && sha256sum --quiet -c manifest-sha256.txt").exit_code == 0);
    CHECK(folder.shell("pdftotext show/H-2026-0001.pdf - | grep -c 'Tomas Oberlyn'").exit_code == 0);
    CHECK(folder.shell("FRAYHOLD_STORE=show/store frayhold verify").exit_code == 0);
    CHECK(folder.shell("FRAYHOLD_STORE=show/store frayhold item list --status retired").out.find("KT-R014") !=
          std::string::npos);
    CHECK(folder.frayhold("demo show").exit_code == 3);
}

TEST_CASE("a demo in another language writes to the maker in it") {
    const Folder folder;
    const Ran ran = folder.shell("env -u LANGUAGE LC_ALL=de frayhold demo show");
    INFO(ran.out);
    INFO(ran.err);
    REQUIRE(ran.exit_code == 0);
    CHECK(folder.shell("grep -q 'Guten Tag' show/pack/data/letter.txt").exit_code == 0);
    CHECK(folder.shell("pdftotext show/H-2026-0001.pdf - | grep -q 'Entscheid'").exit_code == 0);
}
