// SPDX-License-Identifier: Apache-2.0
#include "desk/forgetting.h"

#include <filesystem>
#include <fstream>
#include <iterator>

#include "desk/sample_desk.h"
#include "store/database.h"

namespace frayhold::desk {
namespace {

namespace fs = std::filesystem;

constexpr const char* person = record::sample::competent_person;

// Whether the bytes of any file of the store's database hold the text.
bool is_in_database_files(const sample::DeskFolder& folder, const std::string& text) {
    for (const fs::directory_entry& entry : fs::directory_iterator(*folder.place.location.folder())) {
        if (!entry.is_regular_file()) continue;
        std::ifstream in(entry.path(), std::ios::binary);
        const std::string bytes{std::istreambuf_iterator<char>(in), {}};
        if (bytes.find(text) != std::string::npos) return true;
    }
    return false;
}

void decide(Desk& desk) {
    const std::string hold = sample::answered_hold(desk, record::MakersAnswer::not_fit);
    VerdictOrder order = sample::verdict_order(record::VerdictKind::retire_and_destroy,
                                               std::string("as ") + person + " and Tomas Oberlyns said");
    order.witness = record::sample::keeper;
    desk.give_verdict(hold, order);
}

}  // namespace

TEST_CASE("A forgotten name is nowhere in the database, and the journal is still proved", "[file]") {
    const sample::DeskFolder folder;
    std::string head;
    Forgotten forgotten;
    {
        Desk desk = folder.open();
        decide(desk);
        head = desk.verify().journal_head;
        REQUIRE(desk.case_file("H-2026-0001").verdict->by == person);
        const std::size_t entries = desk.journal({}).size();

        forgotten = desk.forget_person(std::string(" ") + person + " ");
        CHECK(forgotten.instead == "Person 1 (name erased)");
        CHECK(forgotten.entries.size() == 1);
        CHECK(forgotten.rows >= 2);
        CHECK(forgotten.entries_kept == 0);

        const record::Verdict verdict = desk.case_file("H-2026-0001").verdict.value();
        CHECK(verdict.by == forgotten.instead);
        // Another name that begins alike stays.
        CHECK(verdict.reason == "as Person 1 (name erased) and Tomas Oberlyns said");
        CHECK(verdict.witness == record::sample::keeper);
        CHECK(desk.journal({}).size() == entries + 1);
        CHECK(desk.journal({}).back().action == "person.forget");
        CHECK(desk.journal({}).back().details.find("Oberlyn") == std::string::npos);

        sample::check_sound(desk);
        const VerifyReport report = desk.verify(head);
        CHECK(report.is_sound());
        CHECK(report.proved_up_to == static_cast<std::int64_t>(entries));
    }
    CHECK_FALSE(is_in_database_files(folder, std::string(person) + " "));
    CHECK_FALSE(is_in_database_files(folder, std::string(person) + "\""));
    CHECK(is_in_database_files(folder, record::sample::keeper));  // the search itself works
    const Desk again = folder.open();
    CHECK(again.verify(head).is_sound());
}

TEST_CASE("The words of an entry whose name was erased are still held to what they were left as", "[file]") {
    const sample::DeskFolder folder;
    {
        Desk desk = folder.open();
        decide(desk);
        desk.forget_person(person);
    }
    const auto tamper = [&](const std::string& set) {
        store::Database database(*folder.place.location.folder() / "frayhold.db");
        const std::string trigger =
            database
                .first<std::string>("SELECT sql FROM sqlite_master WHERE name = 'journal_never_changed'", {},
                                    [](store::Row& row) { return row.text(); })
                .value();
        database.run("DROP TRIGGER journal_never_changed");
        database.run("UPDATE journal SET " + set);
        database.run(trigger);
    };
    SECTION("a changed word") {
        tamper("details = replace(details, 'retire', 'return') WHERE action = 'verdict.give'");
        const VerifyReport report = folder.open().verify();
        REQUIRE(report.faults.size() == 1);
        CHECK(report.faults[0].where.find("table journal, row") == 0);
        CHECK(report.faults[0].what == "it was altered after it was written");
    }
    SECTION("an erasing that nobody did") {
        tamper("salt = '', who = 'Nobody' WHERE number = 1");
        const VerifyReport report = folder.open().verify();
        REQUIRE(report.faults.size() == 1);
        CHECK(report.faults[0].where == "journal entry 1");
        CHECK(report.faults[0].what == "its words were taken out by another program");
    }
}

TEST_CASE("Two people who are forgotten stay two", "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Item item = record::sample::rope();
    item.used_by = "Mara Quill";
    item.note = "Mara Quill lent it to Jo Marsh";
    desk.add_item(item);
    CHECK(desk.forget_person("Mara Quill").instead == "Person 1 (name erased)");
    CHECK(desk.forget_person("Jo Marsh").instead == "Person 2 (name erased)");
    CHECK(desk.item("K-12").used_by == "Person 1 (name erased)");
    CHECK(desk.item("K-12").note == "Person 1 (name erased) lent it to Person 2 (name erased)");
    sample::check_sound(desk);
}

TEST_CASE("A name in a kept message stays there, and is told", "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    desk.add_reply(hold, sample::bytes_of(sample::message(hold, "dear Mara Quill")), "r.eml");
    const Forgotten forgotten = desk.forget_person("Mara Quill");
    REQUIRE(forgotten.kept_files.size() == 1);
    CHECK(forgotten.kept_files[0] == desk.case_file(hold).replies[0].sha256);
    CHECK(desk.case_file(hold).replies[0].text == "dear Person 1 (name erased)");
    sample::check_sound(desk);
}

TEST_CASE("What cannot be forgotten is refused, and nothing changes", "[file]") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    decide(desk);
    CHECK(sample::refused_unchanged(desk, [&] { desk.forget_person(record::sample::keeper); }).fault ==
          Fault::refused);
    CHECK(sample::refused_unchanged(desk, [&] { desk.forget_person("Nobody Atall"); }).what ==
          "this name stands nowhere in the store");
    CHECK(sample::refused_unchanged(desk, [&] { desk.forget_person("Jo"); }).what ==
          "so short a name stands in too many words");
    CHECK(sample::refused_unchanged(desk, [&] { desk.forget_person("  "); }).fault == Fault::input);
}

TEST_CASE("A name is found as whole words only") {
    CHECK(store::without_name("Ida, Idaho, Ida", "Ida", "X") == "X, Idaho, X");
    CHECK(store::without_name("\"Ida\"", "Ida", "X") == "\"X\"");
    CHECK(store::without_name("IdaIda Ida", "Ida", "X") == "IdaIda X");
    CHECK(store::without_name("", "Ida", "X").empty());
    CHECK(store::without_name("Idaé Ida", "Ida", "X") == "Idaé X");
}

}  // namespace frayhold::desk
