// SPDX-License-Identifier: Apache-2.0
// The language that the program speaks: whose it is, and that the parser speaks it too.
#include <catch2/catch.hpp>
#include <filesystem>
#include <sstream>

#include "cli/command_line.h"
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
        fs::copy_file(FRAYHOLD_PROGRAM, folder_.file("bin/frayhold"));
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
