// SPDX-License-Identifier: Apache-2.0
#include "pack/letter.h"

#include <array>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "gauge/measurand.h"
#include "sample_case.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

const std::array<std::filesystem::path, 2> folders{"/nowhere", FRAYHOLD_SOURCE_DIR "/templates/letters"};
const std::array<std::string, 5> languages{"de", "en", "es", "fr", "it"};

LetterInput input() {
    LetterInput in;
    in.file = test::sample_case();
    in.questions = {"send", "fit", "batch", "limit", "cleaner"};
    in.substance = "Inkmark 7 <oil & solvent>";
    in.own_words = "Is a splice at 18 m allowed?";
    in.keeper = "Ida Fenwright";
    in.outfit = "Korrel Tree Crew";
    in.reply_by = parse_date("2026-03-14");
    in.attachments = {"H-2026-0001.pdf", "2-close-up.jpg"};
    return in;
}

std::set<std::string> tags_of(const std::string& text) {
    std::set<std::string> tags;
    const std::regex tag(R"(\{\{[#/^]?\s*([a-z_]+)\s*\}\})");
    for (std::sregex_iterator at(text.begin(), text.end(), tag), end; at != end; ++at) tags.insert((*at)[0]);
    return tags;
}

std::set<std::string> keys_of(const LetterTemplate& letter) {
    std::set<std::string> keys;
    for (const auto& [key, words] : letter.words) keys.insert(key);
    return keys;
}

int paragraphs(const std::string& body) {
    int count = 1;
    for (std::size_t at = body.find("\n\n"); at != std::string::npos; at = body.find("\n\n", at + 2)) ++count;
    return count;
}

}  // namespace

TEST_CASE("There is a letter in each language, and all carry the same keys") {
    REQUIRE(letter_languages(folders) == std::vector<std::string>(languages.begin(), languages.end()));
    const LetterTemplate english = load_letter_template(folders, "en");
    CHECK(tags_of(english.body).size() > 40);
    for (const std::string& language : languages) {
        INFO(language);
        const LetterTemplate letter = load_letter_template(folders, language);
        CHECK(keys_of(letter) == keys_of(english));
        CHECK(tags_of(letter.body) == tags_of(english.body));
        CHECK(tags_of(letter.subject) == tags_of(english.subject));
        if (language == "en") continue;
        // A copied line would be an untranslated one.
        for (const auto& [key, words] : letter.words) CHECK(words != english.words.at(key));
    }
}

TEST_CASE("Each language names every kind, reading, finding and question that can occur") {
    std::ifstream table(FRAYHOLD_SOURCE_DIR "/templates/criteria/common.json");
    const nlohmann::json criteria = nlohmann::json::parse(table);
    for (const std::string& language : languages) {
        INFO(language);
        const LetterTemplate letter = load_letter_template(folders, language);
        for (const record::Kind kind : record::all_kinds())
            CHECK(letter.words.contains("kind." + std::string(record::name_of(kind))));
        for (int i = 0; i <= static_cast<int>(gauge::Measurand::area); ++i)
            CHECK(letter.words.contains("reading." +
                                        std::string(gauge::name_of(static_cast<gauge::Measurand>(i)))));
        for (const auto& finding : criteria.at("findings"))
            CHECK(letter.words.contains("finding." + finding.at("name").get<std::string>()));
        for (const LetterQuestion& question : letter_questions())
            CHECK(letter.words.contains("ask." + std::string(question.key)));
    }
}

TEST_CASE("A full letter says everything in each language") {
    for (const std::string& language : languages) {
        INFO(language);
        const LetterTemplate words = load_letter_template(folders, language);
        const Letter letter = write_letter(input(), words);
        INFO(letter.body);
        CHECK(letter.subject.find("H-2026-0001") != std::string::npos);
        CHECK(letter.subject.find("Arbolane 11, AR11-48213") != std::string::npos);
        const std::vector<std::string> expected{"H-2026-0001",
                                                "Brandel & Voss Ropeworks",
                                                "Arbolane 11",
                                                "AR11-48213",
                                                "2021-07-B",
                                                "EN 1891 A",
                                                "11 mm",
                                                "45 m",
                                                "2021-07-12",
                                                "2022-03-01",
                                                "K-12",
                                                "Sheath fluffed over a hand's width",
                                                words.words.at("kind.rope_low_stretch"),
                                                words.words.at("finding.heavy_fray"),
                                                words.words.at("finding.stiff"),
                                                "18.2 m",
                                                "worst on the label side",
                                                "Fibres stand off",
                                                words.words.at("reading.fray_width"),
                                                "17.62 ± ",
                                                "Inkmark 7 <oil & solvent>",
                                                words.words.at("ask.fit"),
                                                words.words.at("ask.batch"),
                                                words.words.at("ask.limit"),
                                                words.words.at("ask.send"),
                                                "Is a splice at 18 m allowed?",
                                                "H-2026-0001.pdf",
                                                "2-close-up.jpg",
                                                "2026-03-14",
                                                "Ida Fenwright",
                                                "Korrel Tree Crew"};
        for (const std::string& part : expected) {
            INFO(part);
            CHECK(letter.body.find(part) != std::string::npos);
        }
        CHECK(letter.body.find("{{") == std::string::npos);
        CHECK(letter.body.find("}}") == std::string::npos);
        CHECK(letter.body.find("&amp;") == std::string::npos);
        CHECK(letter.body.find("\n\n\n") == std::string::npos);
        CHECK(letter.body.ends_with("Korrel Tree Crew\n"));
        // Five questions, in the list's order and not the person's.
        CHECK(letter.body.find("1. " + words.words.at("ask.fit")) != std::string::npos);
        CHECK(letter.body.find("5. " + words.words.at("ask.send")) != std::string::npos);
    }
}

TEST_CASE("What is not known leaves no empty line in the letter") {
    LetterInput in;
    in.file.hold.number = "H-2026-0002";
    in.file.hold.seen = "Found in a puddle of something.";
    in.file.item.mark = "K-13";
    in.questions = {"cleaner"};
    in.keeper = "Ida Fenwright";
    for (const std::string& language : languages) {
        INFO(language);
        const LetterTemplate words = load_letter_template(folders, language);
        const Letter letter = write_letter(in, words);
        INFO(letter.body);
        CHECK(letter.subject.ends_with(words.words.at("kind.rope_low_stretch")));
        CHECK(letter.body.find("1. " + words.words.at("ask.cleaner")) != std::string::npos);
        CHECK(letter.body.find(" ± ") == std::string::npos);
        // Greeting, opening, item, what was seen, questions, originals, rule, number, regards: nine
        // paragraphs.
        CHECK(paragraphs(letter.body) == 9);
        CHECK(letter.body.find(": \n") == std::string::npos);
        CHECK(letter.body.find("\n\n\n") == std::string::npos);
        CHECK(letter.body.ends_with("Ida Fenwright\n"));
    }
}

TEST_CASE("Text from the record is never read as a template") {
    LetterInput in = input();
    in.own_words = "{{keeper}} {{#made}}x{{/made}} & <b>";
    in.substance = "{{mark}}";
    const Letter letter = write_letter(in, load_letter_template(folders, "en"));
    CHECK(letter.body.find("{{keeper}} {{#made}}x{{/made}} & <b>") != std::string::npos);
    CHECK(letter.body.find("used on the item: {{mark}}?") != std::string::npos);
}

TEST_CASE("A letter that asks nothing or asks the unknown is refused") {
    const LetterTemplate english = load_letter_template(folders, "en");
    LetterInput in = input();
    in.questions = {};
    CHECK_NOTHROW(write_letter(in, english));
    in.own_words = " \n";
    CHECK_THROWS_WITH(write_letter(in, english), Catch::Contains("it asks nothing"));
    in.questions = {"price"};
    CHECK_THROWS_WITH(write_letter(in, english), Catch::Contains("fit, batch, limit, cleaner, send"));
    CHECK_THROWS_WITH(load_letter_template(folders, "tlh"), Catch::Contains("de, en, es, fr, it"));
    CHECK_THROWS_WITH(load_letter_template(folders, "../letters/en"),
                      Catch::Contains("there is no letter in it"));
    CHECK_THROWS_AS(load_letter_template(std::span(folders).first(1), "en"), Failure);
}

TEST_CASE("A broken template is refused by its line") {
    const auto refusal = [](const std::string& text) -> std::string {
        try {
            (void)parse_letter_template(text, "xx");
        } catch (const Failure& failure) {
            return failure.what();
        }
        return "taken";
    };
    CHECK(refusal("a = b\n----\nSubject: s\n\nbody\n----\nSubject: r\n\nbody\n") == "taken");
    CHECK(refusal("a = b\nno sign\n----\nSubject: s\n").find("line 2") != std::string::npos);
    CHECK(refusal("a = b\na = c\n----\nSubject: s\n").find("stands there twice") != std::string::npos);
    CHECK(refusal("a =\n----\nSubject: s\n").find("missing") != std::string::npos);
    CHECK(refusal("a = b\n").find("---- behind the words is missing") != std::string::npos);
    CHECK(refusal("a = b\n----\nSubject: s\n").find("---- before the reminder is missing") !=
          std::string::npos);
    CHECK(refusal("a = b\n----\nHello\n----\nSubject: r\n").find("Subject:") != std::string::npos);
    CHECK(refusal("a = b\n----\nSubject: s\n----\nHello\n").find("Subject:") != std::string::npos);
    LetterTemplate torn = load_letter_template(folders, "en");
    torn.body = "{{#maker}} open";
    CHECK_THROWS_AS(write_letter(input(), torn), Failure);
}

TEST_CASE("A reminder names what was sent, in each language, and asks for the same number in the reply") {
    const LetterTemplate english = load_letter_template(folders, "en");
    for (const std::string& language : languages) {
        INFO(language);
        const LetterTemplate letter = load_letter_template(folders, language);
        CHECK(tags_of(letter.reminder_body) == tags_of(english.reminder_body));
        CHECK(paragraphs(letter.reminder_body) == paragraphs(english.reminder_body));
        LetterInput in = input();
        in.file.queries.resize(1);
        in.file.queries[0].subject = "the first letter";
        in.file.queries[0].sent = parse_time("2026-02-28T23:59:59Z");
        const Letter reminder = write_reminder(in, letter);
        CHECK(reminder.subject.find(in.file.hold.number) != std::string::npos);
        for (const std::string& words :
             {std::string("2026-02-28"), std::string("the first letter"), in.own_words, in.file.hold.number,
              std::string("2026-03-14"), in.keeper, in.outfit}) {
            INFO(words);
            CHECK(reminder.body.find(words) != std::string::npos);
        }
        CHECK(reminder.body.find("{{") == std::string::npos);
        in.file.queries[0].sent.reset();
        CHECK_THROWS_AS((void)write_reminder(in, letter), Failure);
    }
}

}  // namespace frayhold::pack
