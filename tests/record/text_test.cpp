// SPDX-License-Identifier: Apache-2.0
#include "record/text.h"

#include <catch2/catch.hpp>

namespace frayhold::record {
using Words = std::vector<std::string>;

TEST_CASE("Plain text is UTF-8 without nulls") {
    CHECK(is_plain_text(""));
    CHECK(is_plain_text("Seil grün – 绳"));
    CHECK_FALSE(is_plain_text("gr\xfcn"));
    CHECK_FALSE(is_plain_text("\xc0\xaf"));          // overlong form, RFC 3629 section 3
    CHECK_FALSE(is_plain_text("\xed\xa0\x80"));      // surrogate
    CHECK_FALSE(is_plain_text("\xf4\x90\x80\x80"));  // above U+10FFFF
    CHECK_FALSE(is_plain_text(std::string("a\0b", 3)));
}

TEST_CASE("What is not plain is marked, the rest kept") {
    CHECK(as_plain_text("grün") == "grün");
    CHECK(as_plain_text("gr\xfcn") == "gr\xEF\xBF\xBDn");
    CHECK(as_plain_text(std::string("a\0b", 3)) ==
          "a\xEF\xBF\xBD"
          "b");
    CHECK(is_plain_text(as_plain_text("\xff\xfe\x00\x80")));
}

TEST_CASE("Blank and trimmed") {
    CHECK(is_blank(""));
    CHECK(is_blank(" \t\r\n"));
    CHECK_FALSE(is_blank(" x "));
    CHECK(trimmed("  label worn off \n") == "label worn off");
    CHECK(trimmed(" \n").empty());
}

TEST_CASE("Search words are folded and each once") {
    CHECK(search_words("K-12  Brandel & Voss k-12") == Words{"&", "brandel", "k-12", "voss"});
    CHECK(search_words("GRÜN grün Straße STRASSE") == Words{"grün", "strasse"});
    // The same letter written in two ways (U+00FC; u and U+0308) and a full-width digit.
    CHECK(search_words("gr\xC3\xBCn gru\xCC\x88n \xEF\xBC\x91") == Words{"1", "grün"});
    CHECK(search_words("  ").empty());
}

}  // namespace frayhold::record
