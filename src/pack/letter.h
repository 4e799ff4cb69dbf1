// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "record/case_file.h"
#include "units/date.h"

// The letter to the maker, in the maker's language.
namespace frayhold::pack {

// One language's file in templates/letters, "<language>.txt": lines "key = words" that name kinds of item
// ("kind."), findings ("finding."), readings ("reading.") and questions ("ask."); a line "----"; then a
// mustache template of plain text (nothing is escaped) whose first line is "Subject: ..."; a line "----";
// then the template of a reminder in the same form.
struct LetterTemplate {
    std::string language;  // "de"
    std::map<std::string, std::string> words;
    std::string subject;
    std::string body;
    std::string reminder_subject;
    std::string reminder_body;
};

// Throws Failure (Fault::input) naming `name` and the line where the text is not of that form.
[[nodiscard]] LetterTemplate parse_letter_template(std::string_view text, const std::string& name);

// Reads "<language>.txt" from the first of the folders that exists. Throws Failure: Fault::outside where none
// exists, Fault::usage listing the languages there are where there is no such file.
[[nodiscard]] LetterTemplate load_letter_template(std::span<const std::filesystem::path> folders,
                                                  const std::string& language);

// The languages with a file in the first of the folders that exists, sorted.
[[nodiscard]] std::vector<std::string> letter_languages(std::span<const std::filesystem::path> folders);

// The questions a person can choose from, in the order in which a letter asks them.
struct LetterQuestion {
    std::string_view key;    // "fit"
    std::string_view words;  // in English, for a list on the screen by tr_word
};
[[nodiscard]] std::span<const LetterQuestion> letter_questions();

struct LetterInput {
    record::CaseFile file;
    std::vector<std::string> questions;  // keys of letter_questions()
    std::string substance;               // the ink or cleaner that question "cleaner" is about; may be empty
    std::string own_words;               // as they are, in the maker's language
    std::string keeper;                  // who signs
    std::string outfit;                  // "Korrel Tree Crew"; may be empty
    std::optional<Date> reply_by;
    std::vector<std::string> attachments;  // file names
};

// The chosen questions as the letter words them, in the list's order. Throws Failure (Fault::usage) for one
// that is not in the list.
[[nodiscard]] std::vector<std::string> asked_questions(const LetterInput& input,
                                                       const LetterTemplate& language);

struct Letter {
    std::string subject;
    std::string body;
};

// Throws Failure: Fault::usage for a question that is not in the list, or where nothing at all is asked;
// Fault::input where the template is broken.
[[nodiscard]] Letter write_letter(const LetterInput& input, const LetterTemplate& language);

// A short letter that follows up the queries sent and not answered. Throws Failure: Fault::usage where none
// was sent; Fault::input where the template is broken.
[[nodiscard]] Letter write_reminder(const LetterInput& input, const LetterTemplate& language);

}  // namespace frayhold::pack
