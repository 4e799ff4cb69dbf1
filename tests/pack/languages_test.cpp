// SPDX-License-Identifier: Apache-2.0
// In a language of long words every text still stands on its page.
#include "language/languages.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <regex>
#include <string>
#include <vector>

#include "language/speaking.h"
#include "outside.h"
#include "pack/card_sheet.h"
#include "pack/case_pdf.h"
#include "pack/evidence_pack.h"
#include "pack/item_record.h"
#include "pack/letter.h"
#include "pack/lettering.h"
#include "pack/tags.h"
#include "pack/words.h"
#include "record/evidence.h"
#include "sample_case.h"

namespace frayhold::pack {
namespace {

// A word on a page, in points from its top left corner.
struct Word {
    double left;
    double top;
    double right;
    double foot;
    std::string text;
};

std::vector<Word> words_of(const std::vector<std::byte>& pdf) {
    const test::ScratchFolder scratch;
    const std::string boxes =
        test::run("pdftotext -bbox " + test::quoted(scratch.write("it.pdf", pdf)) + " -").output;
    const std::regex word(
        R"re(<word xMin="([-0-9.]+)" yMin="([-0-9.]+)" xMax="([-0-9.]+)" yMax="([-0-9.]+)">(.*)</word>)re");
    std::vector<Word> words;
    for (auto at = std::sregex_iterator(boxes.begin(), boxes.end(), word); at != std::sregex_iterator(); ++at)
        words.push_back(
            {std::stod((*at)[1]), std::stod((*at)[2]), std::stod((*at)[3]), std::stod((*at)[4]), (*at)[5]});
    return words;
}

void check_within(const std::vector<Word>& words, double left_mm, double top_mm, double right_mm,
                  double foot_mm) {
    CHECK_FALSE(words.empty());
    for (const Word& word : words) {
        INFO(word.text);
        CHECK(word.left >= mm(left_mm) - 1);
        CHECK(word.right <= mm(right_mm) + 1);
        CHECK(word.top >= mm(top_mm));
        CHECK(word.foot <= mm(foot_mm));
    }
}

bool has(const std::vector<Word>& words, const std::string& text) {
    return std::any_of(words.begin(), words.end(), [&](const Word& word) { return word.text == text; });
}

// Speaks German for as long as it lives.
struct German {
    language::Languages languages{{TEST_CATALOGUES}};
    language::Speaking speaking{languages.of("de")};
};

}  // namespace

TEST_CASE("The card's page has room for longer steps and leaves the card its size") {
    const auto english = card_png("H-2026-0001");
    const German german;
    const auto words = words_of(card_pdf("H-2026-0001"));
    check_within(words, 25, 15, 185, 287);
    CHECK(has(words, "kleben"));
    CHECK(card_png("H-2026-0001") != english);
    int on_card = 0;
    for (const Word& word : words) {
        if (word.top < mm(56) || word.foot > mm(56 + 53.98)) continue;
        INFO(word.text);
        CHECK(word.left >= mm((210 - 85.6) / 2));
        CHECK(word.right <= mm((210 + 85.6) / 2));
        ++on_card;
    }
    CHECK(on_card > 3);
}

TEST_CASE("The hold tag's words stay on the tag") {
    const German german;
    const auto words = words_of(hold_tag_pdf(test::sample_case(), papers::a4));
    CHECK(has(words, "WEITERVERWENDEN"));
    check_within(words, 52.5, 25, 157.5, 25 + 148);
}

TEST_CASE("The case's pages keep long words inside their margins") {
    const German german;
    CasePdfInput input;
    input.file = test::sample_case();
    for (const record::PhotoEntry& photo : input.file.photos)
        if (photo.usable)
            input.pictures[photo.number] =
                CasePicture{test::sample_picture(1200, 900, photo.number), 1, true};
    input.outfit = "Korrel Tree Crew";
    const auto words = words_of(case_pdf(input));
    for (const char* text : {"Seriennummer", "Seite", "Kriterien", "Fasern", "eröffnet"}) {
        INFO(text);
        CHECK(has(words, text));
    }
    check_within(words, 20, 10, 190, 290);
}

TEST_CASE("What the program wrote of a hold is in the language of the letter and of its papers") {
    const German german;
    LetterInput input;
    input.file = test::sample_case();
    input.file.hold.seen = "Found at a check: R-2026-0001: worn at the eye";
    input.questions = {"fit"};
    const std::vector<std::filesystem::path> folders{std::string(FRAYHOLD_SOURCE_DIR) + "/templates/letters"};
    const std::string letter = write_letter(input, load_letter_template(folders, "de")).body;
    CHECK(letter.find("Bei einer Prüfung gefunden: R-2026-0001: worn at the eye") != std::string::npos);

    record::Reply call;
    call.way = record::ReplyWay::phone;
    call.subject = "by telephone";
    CasePdfInput papers;
    papers.file = input.file;
    papers.file.replies = {call};
    CHECK(has(words_of(case_pdf(papers)), "Anruf"));
}

TEST_CASE("What a pack says to a program is English in every language") {
    PackOrder order;
    order.letter.file = test::sample_case();
    order.letter.file.photos.clear();
    order.letter.file.waived.clear();
    const std::string english = make_evidence_pack(order).json;
    CHECK(english.find("no photo of the label yet") != std::string::npos);
    const German german;
    CHECK(record::evidence_list(order.letter.file).front().words == "noch kein Foto: the label");
    CHECK(make_evidence_pack(order).json == english);
}

TEST_CASE("Records, labels and lists speak the language in force") {
    const German german;
    ItemRecordInput record;
    record.item = test::sample_case().item;
    record.journal = test::sample_case().journal;
    check_within(words_of(item_record_pdf(record)), 20, 10, 190, 290);
    TaggedItem tagged;
    tagged.item = record.item;
    tagged.life.over_from = parse_date("2031-05-01");
    const std::vector<TaggedItem> items{tagged};
    CHECK(has(words_of(item_tags_pdf(items, label_sheets()[0], 1)), "Lebensdauer"));
    const auto shelf = words_of(shelf_list_pdf("K", items, papers::a4, Time{}));
    CHECK(has(shelf, "Stück,"));
    CHECK(has(shelf, "sachkundige"));
    check_within(shelf, 16, 10, 194, 290);
}

TEST_CASE("A letter beyond ASCII has a capital too") {
    CHECK(capital("übrig") == "Übrig");
    CHECK(capital("éraflure") == "Éraflure");
    CHECK(capital("÷") == "÷");
    CHECK(capital("縄") == "縄");
    CHECK(capital("") == "");
}

}  // namespace frayhold::pack
