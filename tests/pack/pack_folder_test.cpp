// SPDX-License-Identifier: Apache-2.0
// Judged by other programs: sha256sum (coreutils), unzip (Info-ZIP) and Python's zipfile. The rules are those
// of RFC 8493.
#include "pack/pack_folder.h"

#include <sys/stat.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <map>

#include "outside.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

namespace fs = std::filesystem;

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto* from = reinterpret_cast<const std::byte*>(text.data());
    return {from, from + text.size()};
}

std::string text_of(const std::vector<std::byte>& bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

Bag sample_bag() {
    Bag bag;
    bag.hold_number = "H-2026-0001";
    bag.organization = "Korrel Tree Crew";
    bag.contact = "Ida Fenwright";
    bag.description = "Evidence for hold H-2026-0001:\nfrayed sheath";
    bag.made = *parse_time("2026-02-28T09:30:00Z");
    bag.payload = {{"letter.txt", bytes_of("Dear colleagues,\n")},
                   {"case.pdf", bytes_of("%PDF-")},
                   {"case.json", bytes_of("{}\n")},
                   {"photos/2-close-up.jpg", std::vector<std::byte>(5000, std::byte{0xA5})},
                   {"photos/2-close-up-marked.jpg", {}}};
    return bag;
}

// Every file below the folder, by its path within.
std::map<std::string, std::vector<std::byte>> content_of(const fs::path& folder) {
    std::map<std::string, std::vector<std::byte>> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        if (entry.is_regular_file())
            files[fs::relative(entry.path(), folder).string()] = test::bytes_of(entry.path());
    return files;
}

}  // namespace

TEST_CASE("A pack folder is a bag that sha256sum proves whole") {
    const test::ScratchFolder scratch;
    const fs::path folder = scratch.path() / "pack";
    write_pack_folder(folder, sample_bag());
    for (const std::string manifest : {"manifest-sha256.txt", "tagmanifest-sha256.txt"}) {
        const test::Ran ran =
            test::run("cd " + test::quoted(folder) + " && sha256sum --strict -c " + manifest);
        INFO(ran.output);
        CHECK(ran.exit_code == 0);
    }
    const auto files = content_of(folder);
    CHECK(files.size() == 9);
    CHECK(text_of(files.at("bagit.txt")) == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    CHECK(text_of(files.at("bag-info.txt")) ==
          "Source-Organization: Korrel Tree Crew\nContact-Name: Ida Fenwright\n"
          "External-Description: Evidence for hold H-2026-0001: frayed sheath\nExternal-Identifier: "
          "H-2026-0001\n"
          "Bagging-Date: 2026-02-28\nPayload-Oxum: 5025.5\n");
    const std::string manifest = text_of(files.at("manifest-sha256.txt"));
    CHECK(std::count(manifest.begin(), manifest.end(), '\n') == 5);
    CHECK(text_of(files.at("data/letter.txt")) == "Dear colleagues,\n");

    // A changed byte shows.
    std::ofstream(folder / "data/letter.txt", std::ios::app) << "x";
    CHECK(
        test::run("cd " + test::quoted(folder) + " && sha256sum --strict -c manifest-sha256.txt").exit_code !=
        0);
}

TEST_CASE("Everybody who may enter the folder above may read the pack") {
    const test::ScratchFolder scratch;
    write_pack_folder(scratch.path() / "pack", sample_bag());
    struct stat about {};
    REQUIRE(::stat((scratch.path() / "pack").c_str(), &about) == 0);
    CHECK((about.st_mode & 0777) == 0755);
}

TEST_CASE("The same pack twice is the same, byte for byte, as folder and as zip") {
    const test::ScratchFolder scratch;
    write_pack_folder(scratch.path() / "one", sample_bag());
    Bag other_order = sample_bag();
    std::reverse(other_order.payload.begin(), other_order.payload.end());
    write_pack_folder(scratch.path() / "two", other_order);
    CHECK(content_of(scratch.path() / "one") == content_of(scratch.path() / "two"));
    const auto zip = pack_zip(sample_bag());
    CHECK(zip == pack_zip(other_order));
    // Whatever the machine's time zone.
    ::setenv("TZ", "Pacific/Apia", 1);
    ::tzset();
    CHECK(zip == pack_zip(sample_bag()));
    ::unsetenv("TZ");
    ::tzset();
}

TEST_CASE("The zip is whole by Info-ZIP and holds the same bag") {
    const test::ScratchFolder scratch;
    const auto zip = scratch.write("pack.zip", pack_zip(sample_bag()));
    const test::Ran tested = test::run("unzip -t " + test::quoted(zip));
    INFO(tested.output);
    CHECK(tested.exit_code == 0);
    CHECK(tested.output.find("No errors detected") != std::string::npos);
    REQUIRE(test::run("unzip -q " + test::quoted(zip) + " -d " + test::quoted(scratch.path() / "out"))
                .exit_code == 0);
    write_pack_folder(scratch.path() / "pack", sample_bag());
    CHECK(content_of(scratch.path() / "out/H-2026-0001") == content_of(scratch.path() / "pack"));
    // Python's own reading of the entries' times and modes.
    const test::Ran listed = test::run(
        "/usr/bin/python3 -c \"import zipfile; print({(i.date_time, oct(i.external_attr >> 16)) "
        "for i in zipfile.ZipFile('" +
        zip.string() + "').infolist()})\"");
    CHECK(listed.output == "{((2026, 2, 28, 9, 30, 0), '0o100644')}\n");
}

TEST_CASE("A pack is never written over anything, and never half") {
    const test::ScratchFolder scratch;
    const fs::path folder = scratch.path() / "pack";
    const auto refusal = [&](const fs::path& target, const Bag& bag) -> Error {
        try {
            write_pack_folder(target, bag);
        } catch (const Failure& failure) {
            return failure.error();
        }
        FAIL("was written");
        return {};
    };
    fs::create_directory(folder);
    CHECK(refusal(folder, sample_bag()).what == "it exists already");
    fs::remove(folder);
    fs::create_symlink("/nowhere", folder);
    CHECK(refusal(folder, sample_bag()).what == "it exists already");
    fs::remove(folder);
    CHECK(refusal(scratch.path() / "no/pack", sample_bag()).fault == Fault::input);
    CHECK(refusal("/proc/pack", sample_bag()).fault == Fault::outside);
    for (const std::string path :
         {"", "/etc/x", "../x", "a/../b", "a//b", ".hidden", "a b", "ü", "a\nb", "a/", "x%0A"}) {
        INFO(path);
        Bag bag = sample_bag();
        bag.payload.push_back({path, {}});
        CHECK(refusal(folder, bag).fault == Fault::input);
    }
    Bag twice = sample_bag();
    twice.payload.push_back(twice.payload.front());
    CHECK(refusal(folder, twice).what == "it occurs twice");
    // Nothing is left behind by any of these.
    CHECK(fs::is_empty(scratch.path()));
    // A name with a stroke at its end is the same name.
    write_pack_folder(folder / "", sample_bag());
    CHECK(fs::exists(folder / "bagit.txt"));
}

TEST_CASE("A full disk leaves nothing behind") {
    // A file size limit stands in for a full disk: writing beyond it fails.
    const test::ScratchFolder scratch;
    Bag bag = sample_bag();
    bag.payload.push_back({"photos/large.jpg", std::vector<std::byte>(3'000'000, std::byte{1})});
    const auto program = fs::read_symlink("/proc/self/exe");
    const test::Ran ran = test::run(
        "trap '' XFSZ; ulimit -f 1000; FRAYHOLD_TEST_PACK=" + test::quoted(scratch.path() / "pack") + " " +
        test::quoted(program) + " '[.][writes a large pack]'");
    INFO(ran.output);
    CHECK(ran.output.find("could not be written") != std::string::npos);
    CHECK(fs::is_empty(scratch.path()));
}

// Run by the case above under a limit, not by itself.
TEST_CASE("Writes a large pack", "[.][writes a large pack]") {
    Bag bag = sample_bag();
    bag.payload.push_back({"photos/large.jpg", std::vector<std::byte>(3'000'000, std::byte{1})});
    const char* folder = std::getenv("FRAYHOLD_TEST_PACK");
    REQUIRE(folder != nullptr);
    CHECK_THROWS_WITH(write_pack_folder(folder, bag), !Catch::Contains("could not be written"));
}

}  // namespace frayhold::pack
