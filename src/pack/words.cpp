// SPDX-License-Identifier: Apache-2.0
#include "pack/words.h"

#include "record/item.h"

namespace frayhold::pack {
namespace {

constexpr const char* unknown = "not recorded";

}  // namespace

std::string capital(std::string words) {
    if (!words.empty() && words[0] >= 'a' && words[0] <= 'z')
        words[0] = static_cast<char>(words[0] - 'a' + 'A');
    return words;
}

std::string or_unknown(const std::string& text) {
    return text.empty() ? unknown : text;
}

std::string or_unknown(const std::optional<Date>& date) {
    return date ? to_text(*date) : unknown;
}

std::string or_unknown(const std::optional<Millimetres>& length) {
    return length ? record::length_words(*length) : unknown;
}

std::string check_words(const record::ItemCheck& check) {
    std::string words = capital(std::string(record::words_for(*check.result)));
    if (!check.words.empty()) words += ": " + check.words;
    for (const record::Finding& finding : check.findings) {
        const std::string place = record::place_words(finding);
        words += "\nFound: " + finding.kind_words + (place.empty() ? "" : ", " + place) +
                 (finding.words.empty() ? "" : ": " + finding.words);
    }
    for (const std::string& against : check.against) words += "\nKept in spite of: " + against;
    if (!check.hold.empty()) words += "\nHold " + check.hold;
    return words;
}

}  // namespace frayhold::pack
