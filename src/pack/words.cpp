// SPDX-License-Identifier: Apache-2.0
#include "pack/words.h"

#include "language/recorded.h"
#include "language/tr.h"

namespace frayhold::pack {
namespace {

constexpr char latin_1 = '\xC3';  // begins a letter from U+00C0 to U+00FF in UTF-8

std::string unknown() {
    return tr("not recorded");
}

}  // namespace

std::string capital(std::string words) {
    if (words.empty()) return words;
    if (words[0] >= 'a' && words[0] <= 'z') {
        words[0] = static_cast<char>(words[0] - 'a' + 'A');
    } else if (words.size() > 1 && words[0] == latin_1) {
        // U+00E0 to U+00FE but the sign of division; their capitals stand 32 before them.
        const auto second = static_cast<unsigned char>(words[1]);
        if (second >= 0xA0U && second <= 0xBEU && second != 0xB7U)
            words[1] = static_cast<char>(second - 0x20U);
    }
    return words;
}

std::string or_unknown(const std::string& text) {
    return text.empty() ? unknown() : text;
}

std::string or_unknown(const std::optional<Date>& date) {
    return date ? to_text(*date) : unknown();
}

std::string or_unknown(const std::optional<Millimetres>& length) {
    return length ? record::length_words(*length) : unknown();
}

std::string item_words(const record::Item& item) {
    const std::string kind = record::words_for(item.kind);
    const std::string words = item.model.empty() ? capital(kind) : item.model + ", " + kind;
    // Translators: an item and its maker: "Arbolane 11, rope (low stretch) by Brandel & Voss Ropeworks".
    return item.maker.empty() ? words : trf("{} by {}", words, item.maker);
}

std::string verdict_words(const record::Verdict& verdict) {
    // Translators: a verdict, who gave it and the day: "Retire by Ida Fenwright, 2026-03-01".
    return trf("{} by {}, {}", capital(record::words_for(verdict.kind)), verdict.by,
               to_text(day_of(verdict.given)));
}

std::string check_words(const record::ItemCheck& check) {
    std::string words = capital(record::words_for(*check.result));
    if (!check.words.empty()) words += ": " + check.words;
    for (const record::Finding& finding : check.findings) {
        const std::string place = record::place_words(finding);
        words += "\n" + trf("Found: {}", tr_word(finding.kind_words) + (place.empty() ? "" : ", " + place) +
                                             (finding.words.empty() ? "" : ": " + finding.words));
    }
    for (const std::string& against : check.against)
        words += "\n" + trf("Kept in spite of: {}", tr_recorded(against));
    if (!check.hold.empty()) words += "\n" + trf("Hold {}", check.hold);
    return words;
}

}  // namespace frayhold::pack
