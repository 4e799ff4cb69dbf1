// SPDX-License-Identifier: Apache-2.0
#include "post/safe_file_name.h"

#include <catch2/catch.hpp>

namespace frayhold::post {
namespace {

std::string safe(std::string_view name) {
    return safe_file_name(name, "attachment-1.bin");
}

}  // namespace

TEST_CASE("Ordinary names stay as they are") {
    for (const std::string name :
         {"rope.jpg", "Prüfblatt 2026.pdf", "照片.png", "صورة.jpg", "a (2).tar.gz", "-dash.txt"})
        CHECK(safe(name) == name);
}

TEST_CASE("Paths, marks that cannot be seen and forbidden signs are taken out") {
    CHECK(safe("../../etc/passwd") == "passwd");
    CHECK(safe("C:\\gear\\rope.jpg") == "rope.jpg");
    CHECK(safe("/") == "attachment-1.bin");
    CHECK(safe("..") == "attachment-1.bin");
    CHECK(safe(" . ") == "attachment-1.bin");
    CHECK(safe("") == "attachment-1.bin");
    CHECK(safe(".hidden") == "hidden");
    CHECK(safe("rope.jpg. ") == "rope.jpg");
    CHECK(safe("a<b>c:d\"e|f?g*.txt") == "a_b_c_d_e_f_g_.txt");
    CHECK(safe("gpj.\u202Eepor.exe") == "gpj.epor.exe");
    CHECK(safe("ro\u200Bpe\uFEFF\u2066.jpg") == "rope.jpg");
    CHECK(safe(std::string_view("ro\0pe\n\x1B.jpg", 11)) == "ro_pe.jpg");
    CHECK(safe("ro\xFFpe.jpg") == "ro_pe.jpg");
    CHECK(safe("a\u00A0b\u2003c.txt") == "a b c.txt");
}

TEST_CASE("Names of devices get a mark before them") {
    CHECK(safe("con") == "_con");
    CHECK(safe("NUL.txt") == "_NUL.txt");
    CHECK(safe("Com1.tar.gz") == "_Com1.tar.gz");
    CHECK(safe("COM.txt") == "COM.txt");
    CHECK(safe("console.txt") == "console.txt");
}

TEST_CASE("Long names are cut between characters and keep their extension") {
    const std::string cut = safe(std::string(300, 'a') + ".jpg");
    CHECK(cut.size() == longest_file_name_bytes);
    CHECK(cut.ends_with(".jpg"));
    std::string umlauts;
    for (int i = 0; i < 100; ++i) umlauts += "ü";
    const std::string shorter = safe("x" + umlauts + ".jpeg");
    CHECK(shorter.size() <= longest_file_name_bytes);
    CHECK(shorter.ends_with("ü.jpeg"));
    CHECK(safe("x." + std::string(300, 'b')).size() == longest_file_name_bytes);
}

}  // namespace frayhold::post
