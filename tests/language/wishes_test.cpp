// SPDX-License-Identifier: Apache-2.0
#include "language/wishes.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

using frayhold::language::wishes_of_browser;
using frayhold::language::wishes_of_environment;
using Wishes = std::vector<std::string>;

TEST_CASE("the environment's wishes are read as gettext reads them", "[language]") {
    // GNU gettext manual, 2.3.3 "Specifying a Priority List of Languages".
    CHECK(wishes_of_environment("sv:de", "", "", "fr_FR.UTF-8") == Wishes{"sv", "de", "fr_FR.UTF-8"});
    CHECK(wishes_of_environment("sv:de", "C", "", "fr_FR.UTF-8").empty());
    CHECK(wishes_of_environment("sv", "", "", "C.UTF-8").empty());
    CHECK(wishes_of_environment("", "de_DE.UTF-8", "fr_FR.UTF-8", "it") == Wishes{"de_DE.UTF-8"});
    CHECK(wishes_of_environment("", "", "fr_FR.UTF-8", "it") == Wishes{"fr_FR.UTF-8"});
    CHECK(wishes_of_environment("", "", "", "").empty());
    CHECK(wishes_of_environment("de", "", "", "") == Wishes{"de"});
}

TEST_CASE("a browser's wishes come in the order of their shares", "[language]") {
    // RFC 9110, 12.5.4, its own example among them.
    CHECK(wishes_of_browser("da, en-gb;q=0.8, en;q=0.7") == Wishes{"da", "en-gb", "en"});
    CHECK(wishes_of_browser("en;q=0.3, de-AT, fr;q=0.9") == Wishes{"de-AT", "fr", "en"});
    CHECK(wishes_of_browser("de;q=0, fr") == Wishes{"fr"});
    CHECK(wishes_of_browser("").empty());
    // What cannot be read names no language, and takes nothing from what can.
    CHECK(wishes_of_browser(";;,, ;q=1, fr;q=x, de").back() == "de");
    CHECK(wishes_of_browser(";;,,").empty());
}
