// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <string>

#include "program.h"

using program::Folder;

// ISO/IEC 7810, ID-1: 85.60 x 53.98 mm. Sizes as pdfinfo (poppler-utils) and Pillow tell them.
TEST_CASE("the card is made as a PDF of one page and as a PNG of the card's size, the same every time") {
    const Folder folder;
    for (const std::string file : {"card.pdf", "card.png"}) {
        CHECK(folder.frayhold("card -o " + file).exit_code == 0);
        const std::string first = folder.read(file);
        CHECK(folder.frayhold("card -o " + file).exit_code == 0);
        CHECK(folder.read(file) == first);
    }
    CHECK(folder.files() == std::vector<std::string>{"card.pdf", "card.png"});
    CHECK(folder.shell("pdfinfo card.pdf").out.find("Pages:           1\n") != std::string::npos);
    CHECK(folder
              .shell("/usr/bin/python3 -c \"from PIL import Image; i = Image.open('card.png'); "
                     "print(*[round(25.4 * n / d, 1) for n, d in zip(i.size, i.info['dpi'])])\"")
              .out == "85.6 54.0\n");
}

TEST_CASE("a hold number given is printed on the card") {
    const Folder folder;
    CHECK(folder.frayhold("card -o card.pdf --hold H-2026-0007").exit_code == 0);
    CHECK(folder.shell("pdftotext card.pdf -").out.find("H-2026-0007") != std::string::npos);
}
