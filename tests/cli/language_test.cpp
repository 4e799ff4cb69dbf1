// SPDX-License-Identifier: Apache-2.0
// The language that the program speaks: whose it is, and that the parser speaks it too.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <map>
#include <sstream>

#include "cli/command_line.h"
#include "cli/command_tree.h"
#include "cli/program.h"
#include "language/languages.h"
#include "language/speaking.h"

namespace frayhold::cli {
namespace {

namespace fs = std::filesystem;

struct Said {
    int exit_code = 0;
    std::string out;
    std::string err;
};

Said say(std::vector<std::string> words, const language::Catalogue* catalogue = nullptr) {
    std::ostringstream out, err;
    Session session{out, err, {}, {}, {}, {}, 0};
    session.catalogue = catalogue;
    const int code = run(std::move(words), session);
    return {code, out.str(), err.str()};
}

// The program as it is installed, beside the tests' own catalogue.
class Installed {
  public:
    Installed() {
        for (const char* part : {"bin", "share"}) fs::create_directory(folder_.file(part));
        const fs::path program(FRAYHOLD_PROGRAM);
        fs::copy_file(program, folder_.file("bin/frayhold"));
        fs::copy(program.parent_path().parent_path() / "libexec", folder_.file("libexec"),
                 fs::copy_options::recursive);
        fs::copy(TEST_CATALOGUES, folder_.file("share/locale"), fs::copy_options::recursive);
    }
    const program::Folder& folder() const { return folder_; }
    program::Ran run(const std::string& environment) const {
        return folder_.shell("env -u LANGUAGE -u LC_ALL -u LC_MESSAGES -u LANG " + environment +
                             " bin/frayhold");
    }

  private:
    program::Folder folder_;
};

const std::string in_english = "frayhold: a command is missing; see --help\n";
const std::string in_german = "frayhold: ein Befehl fehlt; siehe --help\n";

}  // namespace

TEST_CASE("without a language the commands speak English") {
    CHECK(say({}).err == in_english);
    const std::string help = say({"kit", "show", "--help"}).out;
    CHECK(
        help.starts_with("Show what a kit needs, has and is short of\n"
                         "Usage: frayhold kit show [OPTIONS] KIT\n\n"
                         "Positionals:\n"
                         "  KIT TEXT REQUIRED           the kit\n\n"
                         "Options:\n"
                         "  -h,--help                   Print this help message and exit\n"));
}

TEST_CASE("--help is in the language in force, headings and all") {
    language::Languages languages({TEST_CATALOGUES});
    const language::Catalogue* const german = languages.of("de");
    REQUIRE(german != nullptr);
    const Said show = say({"kit", "show", "--help"}, german);
    CHECK(show.exit_code == 0);
    CHECK(
        show.out.starts_with("Einen Satz zeigen\n"
                             "Aufruf: frayhold kit show [OPTIONEN] KIT\n\n"
                             "Angaben:\n"
                             "  KIT WORTE NÖTIG"));
    CHECK(show.out.find("\nOptionen:\n  -h,--help                   Diese Hilfe zeigen\n") !=
          std::string::npos);
    CHECK(say({"kit", "list", "--help"}, german).out.find("--limit ZAHL (1 bis 1000000)") !=
          std::string::npos);
    const std::string kit = say({"kit", "--help"}, german).out;
    CHECK(kit.find("Aufruf: frayhold kit [OPTIONEN] BEFEHL\n") != std::string::npos);
    CHECK(kit.find("\nBefehle:\n") != std::string::npos);
    CHECK(language::spoken() == nullptr);
}

TEST_CASE("what the parser refuses is said in the language in force, and why") {
    language::Languages languages({TEST_CATALOGUES});
    const language::Catalogue* const german = languages.of("de");
    REQUIRE(german != nullptr);
    struct Case {
        std::vector<std::string> words;
        std::string english;
        std::string german;
    };
    const std::vector<Case> cases = {
        {{}, "a command is missing", "ein Befehl fehlt"},
        {{"kit", "shwo"}, "\"shwo\" is no command", "„shwo“ ist kein Befehl"},
        {{"kit", "show"}, "KIT is required", "KIT fehlt"},
        {{"kit", "show", "a", "b"}, "The following argument was not expected: b", "zu viel ist: b"},
        {{"kit", "show", "a", "b", "c"},
         "The following arguments were not expected: b c",
         "zu viel sind: b c"},
        {{"pack", "pdf", "H-1", "-o", "a", "-o", "b"},
         "--output: it is given more than once",
         "--output: mehrmals angegeben"},
        {{"kit", "list", "--limit"}, "--limit: its value is missing", "--limit: der Wert fehlt"},
        {{"kit", "list", "--json=yes-please"}, "--json: it takes no value", "--json: hat keinen Wert"},
        {{"kit", "list", "--limit", "many"},
         "--limit: \"many\" is not a whole number from 1 to 1000000",
         "--limit: „many“ ist keine ganze Zahl von 1 bis 1000000"},
        {{"kit", "list", "--offset", "-1"},
         "--offset: \"-1\" is not a whole number of at least 0",
         "--offset: „-1“ ist keine ganze Zahl ab 0"},
        {{"serve", "--by", "Ida Fenwright", "--address", "192.0.2.1"},
         "--address requires --bench-net",
         "--address nur mit --bench-net"},
        {{"post", "place", "3", "H-1", "--aside", "an advertisement", "--by", "Ida Fenwright"},
         "HOLD and --aside cannot be given together",
         "HOLD nicht zusammen mit --aside"},
        {{"verify", "--head", "12"},
         "--head: a journal head has 64 digits of 0-9 and a-f",
         "--head: ein Kopf hat 64 Zeichen"},
    };
    for (const Case& each : cases) {
        const Said english = say(each.words);
        CHECK(english.exit_code == 2);
        CHECK(english.err == "frayhold: " + each.english + "; see --help\n");
        const Said said = say(each.words, german);
        CHECK(said.exit_code == 2);
        CHECK(said.err == "frayhold: " + each.german + "; siehe --help\n");
    }
}

TEST_CASE("an error of a command is said in the language in force") {
    language::Languages languages({TEST_CATALOGUES});
    CHECK(say({"kit", "list"}).err ==
          "frayhold: --store: no store is named; give --store DIR or set FRAYHOLD_STORE\n");
    CHECK(say({"kit", "list"}, languages.of("de")).err ==
          "frayhold: --store: kein Lager ist genannt; --store ORDNER angeben\n");
}

TEST_CASE("what a program reads is the same in every language") {
    language::Languages languages({TEST_CATALOGUES});
    const language::Catalogue* const german = languages.of("de");
    CHECK(say({"query", "questions"}, german).out.starts_with("Schlüssel"));
    CHECK(say({"query", "questions", "--json"}, german).out == say({"query", "questions", "--json"}).out);
}

// Every command that shows the store, as a person would type it; its holds and rounds bear the year of the
// clock.
TEST_CASE("--json is the same in every language, of every command that has it and only reads") {
    language::Languages languages(language::usual_folders());
    const language::Catalogue* const german = languages.of("de");
    REQUIRE(german != nullptr);
    const program::Folder folder;
    const auto shown = [&](std::vector<std::string> words, const language::Catalogue* catalogue) {
        std::ostringstream out, err;
        const auto clock = [] { return Time(std::chrono::sys_days(std::chrono::year(2026) / 2 / 28)); };
        Session session{out, err, clock, folder.file("store").string(), {}, {}, 0};
        session.catalogue = catalogue;
        const int code = run(std::move(words), session);
        INFO(err.str());
        CHECK(code == 0);
        return out.str();
    };
    const std::string photo = std::string(FRAYHOLD_SOURCE_DIR) + "/demo-photos/arbolane-fray-near-side.jpg";
    folder.write("items.csv", "mark,kind,made\nKT-1,sewn_sling,2024\n");
    // Done in German: what is kept must not hang on it either.
    for (std::vector<std::string> words : std::vector<std::vector<std::string>>{
             {"item", "add", "R1", "--kind", "rope_low_stretch", "--maker", "Kestrel Loom", "--made", "2012"},
             {"item", "add", "S1", "--kind", "sewn_sling", "--maker", "Kestrel Loom", "--made", "2024-05",
              "--kit", "bag 1"},
             {"item", "add", "S2", "--kind", "sewn_sling", "--kit", "bag 1"},
             {"maker", "add", "Kestrel Loom", "--address", "gear@kestrelloom.example"},
             {"kit", "need", "bag 1", "harness", "1"},
             {"hold", "open", "R1", "--seen", "fluff"},
             {"finding", "add", "H-2026-0001", "--kind", "heavy_fray", "--at", "12m"},
             {"photo", "add", "H-2026-0001", photo, "--role", "close_up"},
             {"photo", "waive", "H-2026-0001", "label", "--reason", "worn off"},
             {"check", "start", "--all"},
             {"check", "begin", "R-2026-0001", "S1"},
             {"check", "finding", "R-2026-0001", "S1", "--kind", "edge_nicked"},
             {"check", "result", "R-2026-0001", "S1", "hold"},
             {"verdict", "give", "H-2026-0002", "--kind", "retire_and_destroy", "--reason", "cut", "--by",
              "Tomas Oberlyn"}}) {
        if (words.front() != "verdict") words.insert(words.end(), {"--by", "Ida Fenwright"});
        INFO(words.at(0) << ' ' << words.at(1));
        (void)shown(words, german);
    }
    // What each needs beside --json.
    const std::map<std::string, std::vector<std::string>> further{
        {"gauge", {photo, "--subject", "rope"}},
        {"item show", {"S1"}},
        {"item import", {folder.file("items.csv").string()}},
        {"kit show", {"bag 1"}},
        {"check show", {"R-2026-0001", "S1"}},
        {"hold show", {"H-2026-0001"}},
        {"finding list", {"H-2026-0001"}},
        {"photo list", {"H-2026-0001"}},
        {"photo show", {"H-2026-0001", "1"}},
        {"pack contents", {"H-2026-0001", "--by", "Ida Fenwright"}},
        {"maker show", {"Kestrel Loom"}},
        {"query list", {"H-2026-0001"}},
        {"reply list", {"H-2026-0001"}},
        {"verdict show", {"H-2026-0002"}},
        {"batch preview", {"--maker", "Kestrel Loom", "--model", "Broadleaf 25"}},
    };
    std::ostringstream nowhere;
    Session none{nowhere, nowhere, {}, {}, {}, {}, 0};
    const auto tree = command_tree(none);
    int checked = 0;
    const auto check = [&](const CLI::App& command, std::vector<std::string> words) {
        const std::string name = fmt::format("{}", fmt::join(words, " "));
        const bool writes = command.get_option_no_throw("--by") != nullptr && !further.contains(name);
        // A case with letters is more than this store has.
        if (command.get_option_no_throw("--json") == nullptr || writes || name == "query show" ||
            name == "reply show")
            return;
        INFO(name);
        if (const auto at = further.find(name); at != further.end())
            words.insert(words.end(), at->second.begin(), at->second.end());
        words.emplace_back("--json");
        const std::string english = shown(words, nullptr);
        CHECK(english.size() > 2);
        CHECK(shown(words, german) == english);
        ++checked;
    };
    for (const CLI::App* command : tree->get_subcommands([](const CLI::App*) { return true; })) {
        check(*command, {command->get_name()});
        for (const CLI::App* below : command->get_subcommands([](const CLI::App*) { return true; }))
            check(*below, {command->get_name(), below->get_name()});
    }
    CHECK(checked > 25);
    CHECK(shown({"journal", "list"}, nullptr).find("hold opened") != std::string::npos);
    CHECK(shown({"journal", "list"}, german).find("hold opened") == std::string::npos);
}

TEST_CASE("the program speaks the language that the environment asks for") {
    const Installed program;
    CHECK(program.run("").err == in_english);
    CHECK(program.run("LANG=de_AT.UTF-8").err == in_german);
    CHECK(program.run("LANG=en_GB.UTF-8").err == in_english);
    CHECK(program.run("LANG=en_GB.UTF-8 LC_MESSAGES=de_DE.UTF-8").err == in_german);
    CHECK(program.run("LANG=de_DE.UTF-8 LC_ALL=C.UTF-8").err == in_english);
    CHECK(program.run("LANG=de_DE.UTF-8 LANGUAGE=en:de").err == in_english);
    CHECK(program.run("LANG=en_GB.UTF-8 LANGUAGE=tlh:de").err == in_german);
    CHECK(program.run("LANGUAGE=de").err == in_german);
}

TEST_CASE("a catalogue that cannot be read is named, and the program speaks English") {
    const Installed program;
    program.folder().write("share/locale/de/LC_MESSAGES/frayhold.mo", "torn");
    const program::Ran ran = program.run("LANG=de_DE.UTF-8");
    CHECK(ran.exit_code == 2);
    CHECK(ran.err.find("frayhold.mo") != std::string::npos);
    CHECK(ran.err.ends_with(in_english));
}

}  // namespace frayhold::cli
