// SPDX-License-Identifier: Apache-2.0
#include "desk/store_care.h"

#include <atomic>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <thread>

#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

namespace fs = std::filesystem;

void fill(Desk& desk) {
    const std::string hold = sample::answered_hold(desk, record::MakersAnswer::not_fit);
    desk.give_verdict(hold, sample::verdict_order(record::VerdictKind::retire_and_destroy));
}

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

std::size_t entries(const fs::path& folder) {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder), fs::directory_iterator{}));
}

CopyReport backup_while_others_write(const sample::DeskFolder& folder, const Desk& desk, const fs::path& to) {
    std::atomic<bool> stop{false};
    std::atomic<int> added{0};
    std::thread writer([&] {
        Desk other = folder.open();
        for (int i = 0; !stop; ++i, ++added) {
            record::Item item = record::sample::rope();
            item.mark = "W-" + std::to_string(i);
            other.add_item(item);
        }
    });
    while (added < 3) std::this_thread::yield();
    CopyReport report = desk.backup(to);
    stop = true;
    writer.join();
    return report;
}

}  // namespace

TEST_CASE("A backup is made while others write, proves itself and becomes the same store again", "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    const fs::path copy = folder.place.folder.path() / "copy";
    const CopyReport report = backup_while_others_write(folder, desk, copy);
    CHECK(report.verified.is_sound());
    CHECK(report.kept_files == desk.verify().kept_files);
    CHECK(report.verified.journal_entries > 10);
    const std::string by_others =
        "cd '" + copy.string() + "' && sha256sum --quiet --strict -c manifest-sha256.txt";
    CHECK(std::system(by_others.c_str()) == 0);

    const std::string before = text_of(copy / "frayhold.db");
    const fs::path back = folder.place.folder.path() / "back";
    const CopyReport restored = restore(copy, back, *folder.now);
    CHECK(restored.verified.journal_head == report.verified.journal_head);
    CHECK(text_of(copy / "frayhold.db") == before);
    CHECK(std::system(by_others.c_str()) == 0);
    Setup setup = folder.setup();
    setup.store = back;
    Desk again(setup);
    CHECK(again.item("K-12") == desk.item("K-12"));
    CHECK(again.kept_bytes(desk.case_file("H-2026-0001").photos[0].sha256) == sample::picture(1));
    sample::check_sound(again);
    // The restored store goes on by itself.
    again.add_item([] {
        record::Item item = record::sample::rope();
        item.mark = "N-1";
        return item;
    }());
}

TEST_CASE("A backup in one file is made while others write, opens with any zip program and becomes a store",
          "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    const fs::path here = folder.place.folder.path();
    const fs::path file = here / "copy.zip";
    const CopyReport report = backup_while_others_write(folder, desk, file);
    CHECK(report.verified.is_sound());
    CHECK(report.bytes == static_cast<std::int64_t>(fs::file_size(file)));
    // Only the file is left beside the store.
    CHECK(entries(here) == 2);
    CHECK(std::system(("cd '" + here.string() +
                       "' && mkdir out && cd out && unzip -q ../copy.zip && sha256sum "
                       "--quiet --strict -c manifest-sha256.txt")
                          .c_str()) == 0);
    fs::remove_all(here / "out");

    const CopyReport restored = restore(file, here / "back", *folder.now);
    CHECK(restored.verified.journal_head == report.verified.journal_head);
    Setup setup = folder.setup();
    setup.store = here / "back";
    CHECK(Desk(setup).item("K-12") == desk.item("K-12"));
    CHECK(entries(here) == 3);

    SECTION("never over something that is there") {
        const std::string before = text_of(file);
        CHECK(testing::failure_of([&] { desk.backup(file); }).fault == Fault::input);
        CHECK(text_of(file) == before);
        CHECK(testing::failure_of([&] { restore(file, here / "back", *folder.now); }).fault == Fault::input);
    }
    SECTION("a damaged or foreign file makes no store") {
        std::fstream out(file, std::ios::binary | std::ios::in | std::ios::out);
        out.seekp(static_cast<std::streamoff>(fs::file_size(file) / 2));
        out.put('\x7f');
        out.put('\x01');
        out.close();
        CHECK(testing::failure_of([&] { restore(file, here / "second", *folder.now); }).fault ==
              Fault::input);
        std::ofstream(here / "no.zip") << "no zip";
        CHECK(testing::failure_of([&] { restore(here / "no.zip", here / "second", *folder.now); }).fault ==
              Fault::input);
        CHECK_FALSE(fs::exists(here / "second"));
        CHECK(entries(here) == 4);
    }
    SECTION("a zip that points outside makes no store") {
        const std::string make = "cd '" + here.string() +
                                 "' && /usr/bin/python3 -c \"import zipfile; "
                                 "zipfile.ZipFile('evil.zip','w').writestr('../evil.txt','x')\"";
        REQUIRE(std::system(make.c_str()) == 0);
        CHECK(testing::failure_of([&] { restore(here / "evil.zip", here / "second", *folder.now); }).what ==
              "this file is no sound backup: it names a file outside the folder");
        CHECK_FALSE(fs::exists(here / "evil.txt"));
    }
}

TEST_CASE("Backup, restore and export overwrite nothing and leave nothing half-made", "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    const fs::path here = folder.place.folder.path();
    const fs::path there = here / "there";
    fs::create_directory(there);
    const std::size_t before = entries(here);
    for (const auto& action : std::vector<std::function<void()>>{
             [&] { desk.backup(there); }, [&] { desk.export_all(there); },
             [&] { restore(*folder.place.location.folder(), here / "x", *folder.now); },
             [&] { restore(here / "none", here / "x", *folder.now); }})
        CHECK(testing::failure_of(action).fault == Fault::input);
    CHECK(entries(there) == 0);
    CHECK(entries(here) == before);
    CHECK(testing::failure_of([&] { desk.backup("/proc/frayhold-backup"); }).fault == Fault::outside);

    const fs::path copy = here / "copy";
    desk.backup(copy);
    CHECK(testing::failure_of([&] { restore(copy, there, *folder.now); }).fault == Fault::input);
    SECTION("a changed byte in the copy is found before anything is made of it") {
        std::fstream file(copy / "frayhold.db", std::ios::binary | std::ios::in | std::ios::out);
        file.seekp(5000);
        file.put('x');
        file.close();
        const Error error = testing::failure_of([&] { restore(copy, here / "back", *folder.now); });
        CHECK(error.what == "it is not as the backup's manifest says");
        CHECK_FALSE(fs::exists(here / "back"));
    }
    SECTION("a manifest that points outside is refused") {
        std::ofstream(copy / "manifest-sha256.txt") << std::string(64, 'a') << "  ../../etc/passwd\n";
        CHECK(testing::failure_of([&] { restore(copy, here / "back", *folder.now); }).what.find("outside") !=
              std::string::npos);
    }
    SECTION("a store with a missing original is not backed up as if it were whole") {
        const std::string sha256 = desk.case_file("H-2026-0001").photos[0].sha256;
        fs::remove(folder.place.originals() / sha256.substr(0, 2) / sha256);
        CHECK(testing::failure_of([&] { desk.backup(here / "second"); }).fault == Fault::outside);
        CHECK_FALSE(fs::exists(here / "second"));
    }
}

TEST_CASE("An export needs no Frayhold to be read") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    record::Item other = record::sample::rope();
    other.mark = "K-13";
    desk.add_item(other);
    const fs::path all = folder.place.folder.path() / "all";
    const ExportReport report = desk.export_all(all);
    CHECK(report.items == 2);
    CHECK(report.holds == 1);
    CHECK(report.originals == static_cast<int>(entries(all / "originals")));
    CHECK(nlohmann::json::parse(text_of(all / "items.json")).size() == 2);
    const auto hold = nlohmann::json::parse(text_of(all / "holds" / "H-2026-0001.json"));
    CHECK(hold.at("verdict").at("by") == record::sample::competent_person);
    for (const auto& photo : hold.at("photos"))
        CHECK(fs::exists(all / "originals" / photo.at("sha256").get<std::string>()));
    std::ifstream journal(all / "journal.jsonl");
    std::size_t lines = 0;
    for (std::string line; std::getline(journal, line); ++lines)
        CHECK(nlohmann::json::parse(line).at("number") == lines + 1);
    CHECK(lines == desk.journal({}).size());

    // Another program can prove the chain from it.
    CHECK(std::system(("/usr/bin/python3 " FRAYHOLD_SOURCE_DIR "/tests/record/check_journal.py '" +
                       (all / "journal.jsonl").string() + "' " + std::to_string(lines))
                          .c_str()) == 0);

    const fs::path one = folder.place.folder.path() / "one";
    CHECK(desk.export_item("K-13", one).holds == 0);
    CHECK(nlohmann::json::parse(text_of(one / "items.json")).size() == 1);
    CHECK(testing::failure_of([&] { desk.export_item("K-99", folder.place.folder.path() / "none"); }).fault ==
          Fault::input);
}

}  // namespace frayhold::desk
