// SPDX-License-Identifier: Apache-2.0
// Bad input gets one clear line, the exit code of its kind, and nothing half-written.
#include <algorithm>
#include <catch2/catch.hpp>
#include <string>

#include "program.h"

using program::Folder;
using program::Ran;

namespace {

constexpr int usage = 2;
constexpr int input = 3;
constexpr int refused = 4;
constexpr int outside = 5;

void check_fails(const Ran& ran, int exit_code, const std::string& words) {
    INFO("out: " << ran.out);
    INFO("err: " << ran.err);
    CHECK(ran.exit_code == exit_code);
    CHECK(ran.out.empty());
    CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
    CHECK(ran.err.find(words) != std::string::npos);
}

// A grey picture with a sharp ramp, made by Pillow.
void make_picture(const Folder& folder, const std::string& name, int width, int height) {
    const Ran made =
        folder.shell("/usr/bin/python3 -c \"from PIL import Image; Image.linear_gradient('L').resize((" +
                     std::to_string(width) + "," + std::to_string(height) + ")).save('" + name + "')\"");
    REQUIRE(made.exit_code == 0);
}

// Each unusable photo by name, with the words its refusal must hold.
std::vector<std::pair<std::string, std::string>> make_bad_photos(const Folder& folder) {
    folder.write("text.jpg", "Dear Ida, the rope is on the bench.\n");
    make_picture(folder, "whole.jpg", 640, 480);
    const std::string whole = folder.read("whole.jpg");
    folder.write("cut.jpg", whole.substr(0, whole.size() / 2));
    make_picture(folder, "pixel.png", 1, 1);
    std::string huge = whole;
    // The start-of-frame marker FF C0: height and width follow after five bytes (ITU-T T.81, B.2.2); 0xEA60
    // is 60000.
    const std::size_t frame = huge.find("\xFF\xC0");
    REQUIRE(frame != std::string::npos);
    huge.replace(frame + 5, 4, "\xEA\x60\xEA\x60");
    folder.write("huge.jpg", huge);
    folder.write("empty.jpg", "");
    return {{"text.jpg", "not a JPEG, PNG or HEIC picture"},
            {"cut.jpg", "ends in the middle"},
            {"pixel.png", "too small: 1 x 1 px"},
            {"huge.jpg", "60000 x 60000"},
            {"empty.jpg", "the file is empty"},
            {"none.jpg", "there is no such file"},
            {".", "a folder or device"}};
}

void open_a_hold(const Folder& folder) {
    const std::string by = " --by 'Ida Fenwright'";
    REQUIRE(
        folder
            .frayhold(
                "item add K-12 --kind rope_low_stretch --maker 'Brandel & Voss Ropeworks' --length 45m" + by)
            .exit_code == 0);
    REQUIRE(folder.frayhold("hold open K-12 --seen 'Fray at 3 m'" + by).exit_code == 0);
}

}  // namespace

TEST_CASE("gauge refuses each bad photo in one line and writes nothing") {
    const Folder folder;
    for (const auto& [photo, words] : make_bad_photos(folder)) {
        INFO(photo);
        const auto before = folder.files();
        check_fails(folder.frayhold("gauge " + photo + " --subject rope --mark out.jpg"), input, words);
        check_fails(folder.frayhold("gauge " + photo + " --subject rope --json"), input, words);
        CHECK(folder.files() == before);
    }
}

TEST_CASE("photo add refuses each bad photo in one line and keeps nothing of it") {
    const Folder folder;
    open_a_hold(folder);
    const std::string hold = folder.frayhold("hold list --json").out;
    const std::size_t number = hold.find("H-");
    REQUIRE(number != std::string::npos);
    const std::string name = hold.substr(number, hold.find('"', number) - number);
    const auto photos = make_bad_photos(folder);
    const auto before = folder.files();
    const std::string journal = folder.frayhold("journal list --json").out;
    for (const auto& [photo, words] : photos) {
        INFO(photo);
        check_fails(
            folder.frayhold("photo add " + name + " " + photo + " --role close_up --by 'Ida Fenwright'"),
            input, words);
        CHECK(folder.files() == before);
    }
    CHECK(folder.frayhold("photo list " + name + " --json").out == "[]\n");
    CHECK(folder.frayhold("journal list --json").out == journal);
    CHECK(folder.frayhold("verify").exit_code == 0);
}

TEST_CASE("an unknown item or hold is bad input") {
    const Folder folder;
    open_a_hold(folder);
    const std::string journal = folder.frayhold("journal list --json").out;
    check_fails(folder.frayhold("hold open K-99 --seen fray --by 'Ida Fenwright'"), input, "K-99");
    check_fails(folder.frayhold("item show K-99"), input, "K-99");
    check_fails(folder.frayhold("hold show H-1999-0001"), input, "H-1999-0001");
    check_fails(folder.frayhold("verdict give H-1999-0001 --kind retire_and_destroy --by 'Tomas Oberlyn'"),
                input, "H-1999-0001");
    CHECK(folder.frayhold("journal list --json").out == journal);
}

TEST_CASE("a second hold on a held item is refused and changes nothing") {
    const Folder folder;
    open_a_hold(folder);
    const std::string holds = folder.frayhold("hold list --json").out;
    const std::string journal = folder.frayhold("journal list --json").out;
    check_fails(folder.frayhold("hold open K-12 --seen 'again' --by 'Ida Fenwright'"), refused, "on hold");
    CHECK(folder.frayhold("hold list --json").out == holds);
    CHECK(folder.frayhold("journal list --json").out == journal);
}

TEST_CASE(
    "a return without the maker's answer is refused unless a reason is written, and then shown in plain "
    "sight") {
    const Folder folder;
    open_a_hold(folder);
    const std::string list = folder.frayhold("hold list --json").out;
    const std::size_t at = list.find("H-");
    const std::string hold = list.substr(at, list.find('"', at) - at);
    const std::string give = "verdict give " + hold + " --kind return_to_service --by 'Tomas Oberlyn'";
    check_fails(folder.frayhold(give), refused, "the maker was not asked");
    CHECK(folder.frayhold("item show K-12").out.find("on hold") != std::string::npos);
    const Ran given = folder.frayhold(give + " --reason 'A scuff only: felt all along by two people'");
    CHECK(given.exit_code == 0);
    CHECK(given.out.find("GIVEN AGAINST: ") != std::string::npos);
    CHECK(folder.frayhold("hold show " + hold).out.find("GIVEN AGAINST: ") != std::string::npos);
}

TEST_CASE("a store that cannot be written is an outside fault") {
    const Folder folder;
    folder.write("file", "not a folder\n");
    for (const std::string store : {"file/store", "/proc/frayhold"}) {
        INFO(store);
        check_fails(
            folder.frayhold("--store " + store + " item add K-12 --kind lanyard --by 'Ida Fenwright'"),
            outside, store);
    }
    CHECK(folder.files() == std::vector<std::string>{"file"});
}

TEST_CASE("an output that cannot be written is an outside fault and leaves nothing") {
    const Folder folder;
    check_fails(folder.frayhold("card -o none/card.pdf"), outside, "none/card.pdf");
    check_fails(folder.frayhold("card -o /proc/card.png"), outside, "/proc/card.png");
    CHECK(folder.files().empty());
}

TEST_CASE("wrong usage names the word and what was expected") {
    const Folder folder;
    make_picture(folder, "whole.jpg", 640, 480);
    const std::string gauge = "gauge whole.jpg --subject rope ";
    check_fails(folder.frayhold(""), usage, "a command is missing");
    check_fails(folder.frayhold("hold"), usage, "a command is missing");
    check_fails(folder.frayhold("mend"), usage, "\"mend\" is no command");
    check_fails(folder.frayhold("hold mend"), usage, "\"mend\" is no command");
    check_fails(folder.frayhold("gauge whole.jpg"), usage, "--subject");
    check_fails(folder.frayhold("gauge whole.jpg --subject cloth"), usage, "one of rope, webbing");
    check_fails(folder.frayhold(gauge + "--card big"), usage, "one of auto, printed, id1, none");
    check_fails(folder.frayhold(gauge + "--nominal eleven"), usage, "--nominal");
    check_fails(folder.frayhold(gauge + "--nominal -3"), usage, "--nominal");
    check_fails(folder.frayhold(gauge + "--focal-px nan"), usage, "--focal-px");
    check_fails(folder.frayhold(gauge + "--corners 1,2,3,4"), usage, "4 are needed");
    check_fails(folder.frayhold(gauge + "--corners 1,2,3,4,5,6,7"), usage, "--corners");
    check_fails(folder.frayhold(gauge + "--distance 1,2"), usage, "--distance");
    check_fails(folder.frayhold(gauge + "--area 1,2,3,4"), usage, "--area");
    check_fails(folder.frayhold(gauge + "--level roof"), usage, "one of bench, item");
    check_fails(folder.frayhold("card -o card.txt"), usage, ".pdf nor .png");
    check_fails(folder.shell("unset FRAYHOLD_STORE; frayhold item list"), usage, "FRAYHOLD_STORE");
    check_fails(folder.frayhold("item add K-12 --kind lanyard"), usage, "--by");
    check_fails(folder.frayhold("item add K-12 --kind boat --by Ida"), usage, "one of rope_low_stretch");
    check_fails(folder.frayhold("item add K-12 --kind lanyard --made 2019-13 --by Ida"), usage, "--made");
    CHECK(folder.files() == std::vector<std::string>{"whole.jpg"});
}

TEST_CASE("every deciding command's help carries the caution") {
    const Folder folder;
    for (const std::string command : {"", "gauge", "hold open", "hold show", "finding add", "photo add",
                                      "reply answer", "verdict give", "verdict show", "batch hold"}) {
        INFO(command);
        const Ran ran = folder.frayhold(command + " --help");
        CHECK(ran.exit_code == 0);
        CHECK(ran.out.find("The maker's instructions, local law and a competent person come first.") !=
              std::string::npos);
    }
}
