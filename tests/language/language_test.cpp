// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <thread>

#include "language/error_words.h"
#include "language/languages.h"
#include "language/recorded.h"
#include "language/tr.h"

using frayhold::tr;
using frayhold::tr_recorded;
using frayhold::tr_word;
using frayhold::trc;
using frayhold::trf;
using frayhold::trn;
using frayhold::language::Languages;
using frayhold::language::Speaking;

namespace {

Languages test_languages() {
    return Languages({"/nonexistent", TEST_CATALOGUES});
}

}  // namespace

TEST_CASE("without a language in force the English stands", "[language]") {
    CHECK(tr("on hold") == "on hold");
    CHECK(trc("verdict", "return") == "return");
    CHECK(trf("{} is with {}", "K-12", "the maker") == "K-12 is with the maker");
    CHECK(trn("{} photo", "{} photos", 1) == "1 photo");
    CHECK(trn("{} photo", "{} photos", 0) == "0 photos");
    CHECK(frayhold::language::spoken_name() == "en");
}

TEST_CASE("a language in force is spoken until its scope ends", "[language]") {
    Languages languages = test_languages();
    {
        const Speaking german(languages.of("de"));
        CHECK(tr("on hold") == "gesperrt");
        CHECK(tr_word(frayhold::tr_later("on hold")) == "gesperrt");
        CHECK(trc("verdict", "return") == "zurück in Dienst");
        CHECK(trc("route", "return") == "return");
        CHECK(trf("{} is with {}", "K-12", "B & V") == "bei B & V: K-12");
        CHECK(trn("{} photo", "{} photos", 1) == "1 Foto");
        CHECK(trn("{} photo", "{} photos", 3) == "3 Fotos");
        CHECK(frayhold::language::spoken_name() == "de");
        const Speaking english(nullptr);
        CHECK(tr("on hold") == "on hold");
    }
    CHECK(tr("on hold") == "on hold");
}

TEST_CASE("each thread speaks its own language", "[language]") {
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    std::string other;
    std::jthread([&] { other = tr("on hold"); }).join();
    CHECK(other == "on hold");
    CHECK(tr("on hold") == "gesperrt");
}

TEST_CASE("what is in no catalogue is said in English, and an empty text stays empty", "[language]") {
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    CHECK(tr("not translated") == "not translated");
    CHECK(tr("").empty());  // in a catalogue the empty text is its heading
    CHECK(trf("{} m of rope", 3) == "3 m of rope");
}

TEST_CASE("a translation whose fields are wrong is not shown", "[language]") {
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    CHECK(trf("{:.1f} mm wide", 25.04) == "25.0 mm wide");
}

TEST_CASE("a recorded sentence is translated up to its values", "[language]") {
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    CHECK(tr_recorded("the picture is too large") == "das Bild ist zu groß");
    CHECK(tr_recorded("the picture is too large: 9000 x 7000 pixels") ==
          "das Bild ist zu groß: 9000 x 7000 pixels");
    CHECK(tr_recorded("it cannot be told: look and feel: 12 – 30 mm") ==
          "nicht zu erkennen: ansehen und befühlen: 12 – 30 mm");
    CHECK(tr_recorded("seen by Ida: a nick") == "seen by Ida: a nick");
}

TEST_CASE("an error is said in the language in force", "[language]") {
    Languages languages = test_languages();
    const frayhold::Error error{frayhold::Fault::input, "the picture is too large", "rope.jpg",
                                "take a smaller one"};
    CHECK(frayhold::error_words(error) == error.sentence());
    const Speaking german(languages.of("de"));
    CHECK(frayhold::error_words(error) == "rope.jpg: das Bild ist zu groß; ein kleineres nehmen");
}

TEST_CASE("the first wish that can be had is taken", "[language]") {
    Languages languages = test_languages();
    CHECK(languages.names() == std::vector<std::string>{"de", "en"});
    CHECK(languages.first_of({"pt", "de-AT", "en"})->name() == "de");
    CHECK(languages.first_of({"de_CH.UTF-8"})->name() == "de");
    CHECK(languages.first_of({"en", "de"}) == nullptr);
    CHECK(languages.first_of({"pt"}) == nullptr);
    CHECK(languages.first_of({}) == nullptr);
    CHECK(languages.of("../../etc") == nullptr);
    CHECK(languages.has("en"));
    CHECK(languages.has("de"));
    CHECK_FALSE(languages.has("pt"));
    CHECK_FALSE(languages.has(""));
}

TEST_CASE("the first folder that holds a catalogue is taken", "[language]") {
    // One that exists without any, as share/locale may, hides none of the next.
    const auto empty =
        std::filesystem::temp_directory_path() / ("frayhold-no-catalogues-" + std::to_string(::getpid()));
    std::filesystem::create_directories(empty / "fr");
    Languages languages({empty, TEST_CATALOGUES});
    std::filesystem::remove_all(empty);
    CHECK(languages.names() == std::vector<std::string>{"de", "en"});
    CHECK(languages.of("de")->name() == "de");
    CHECK(Languages({empty}).names() == std::vector<std::string>{"en"});
}

TEST_CASE("a catalogue that is none is refused with its name", "[language]") {
    const auto folder =
        std::filesystem::temp_directory_path() / ("frayhold-bad-catalogue-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder / "de" / "LC_MESSAGES");
    std::ofstream(folder / "de" / "LC_MESSAGES" / "frayhold.mo")
        << "not a catalogue, only some words of text";
    Languages languages({folder});
    CHECK_THROWS_WITH(languages.of("de"), Catch::Contains("frayhold.mo"));
    std::filesystem::remove_all(folder);
}
