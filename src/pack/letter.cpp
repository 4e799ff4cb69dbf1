// SPDX-License-Identifier: Apache-2.0
#include "pack/letter.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <kainjow/mustache.hpp>

#include "gauge/measurand.h"
#include "gauge/reading_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/item.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

using Values = kainjow::mustache::data;

constexpr std::array questions{
    LetterQuestion{"fit", tr_later("Is the item still fit for service, and under which conditions?")},
    LetterQuestion{"batch", tr_later("Is there a known issue in this batch or model?")},
    LetterQuestion{"limit", tr_later("Which limit do you apply to damage of this kind?")},
    LetterQuestion{"cleaner", tr_later("May the ink or cleaner named be used?")},
    LetterQuestion{"send", tr_later("Shall we send you the item?")},
};

std::string_view trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(" \t\r\n");
    if (from == std::string_view::npos) return {};
    return text.substr(from, text.find_last_not_of(" \t\r\n") - from + 1);
}

// Takes the first line off the text.
std::string_view take_line(std::string_view& text) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    return line;
}

// Takes the line end off every line that is nothing but a section's tag, as the mustache specification has it
// for standalone tags: the library leaves it in place where the section is skipped.
std::string without_tag_lines(std::string_view source) {
    std::string out;
    while (!source.empty()) {
        const std::string_view line = take_line(source);
        const bool tag =
            (line.starts_with("{{#") || line.starts_with("{{/")) && line.find("}}") == line.size() - 2;
        out += line;
        if (!tag) out += '\n';
    }
    return out;
}

std::string rendered(const std::string& source, const Values& values, const std::string& language) {
    kainjow::mustache::mustache text(without_tag_lines(source));
    text.set_custom_escape([](const std::string& plain) { return plain; });
    std::string out = text.is_valid() ? text.render(values) : std::string();
    if (!text.is_valid())
        throw Failure(Fault::input, trf("letter template “{}”", language), text.error_message(),
                      "mend the file or take it from the package again");
    return out;
}

// No blanks at line ends, at most one empty line in a row, none at either end, one line end at the last.
std::string tidy(std::string_view text) {
    std::string out;
    int empty_lines = 0;
    while (!text.empty()) {
        std::string_view line = take_line(text);
        line = line.substr(0, line.find_last_not_of(" \t\r") + 1);
        if (line.empty()) {
            ++empty_lines;
            continue;
        }
        if (empty_lines > 0 && !out.empty()) out += '\n';
        empty_lines = 0;
        out += line;
        out += '\n';
    }
    return out;
}

// The language's words for a key, or other words where the language has none (a maker's own table of
// findings).
std::string words_or(const LetterTemplate& language, const std::string& key, const std::string& other) {
    const auto at = language.words.find(key);
    return at == language.words.end() ? other : at->second;
}

std::string kind_words(const record::Item& item, const LetterTemplate& language) {
    return words_or(language, "kind." + std::string(record::name_of(item.kind)),
                    record::words_for(item.kind));
}

std::string item_words(const record::Item& item, const std::string& kind) {
    const std::string name = item.model.empty() ? kind : item.model;
    return item.serial.empty() ? name : name + ", " + item.serial;
}

// An empty value counts as absent, in a section too.
void put(Values& values, const char* key, std::string_view text) {
    values.set(key, text.empty() ? Values(false) : Values(std::string(text)));
}

Values finding_data(const record::Finding& finding, const LetterTemplate& language) {
    Values out;
    put(out, "name", words_or(language, "finding." + finding.kind, finding.kind_words));
    put(out, "station", finding.station ? record::length_words(*finding.station) : std::string());
    put(out, "side", finding.side);
    put(out, "note", finding.words);
    return out;
}

// One line for each measurand: the largest value among the usable photos, with its photo.
Values readings_data(const record::CaseFile& file, const LetterTemplate& language) {
    struct Largest {
        const gauge::Reading* reading = nullptr;
        int photo = 0;
    };
    std::map<gauge::Measurand, Largest> largest;
    for (const record::PhotoEntry& photo : file.photos) {
        if (!photo.usable) continue;
        for (const gauge::Reading& reading : photo.readings) {
            Largest& best = largest[reading.measurand];
            if (best.reading == nullptr || reading.value > best.reading->value)
                best = {&reading, photo.number};
        }
    }
    Values list{Values::type::list};
    for (const auto& [measurand, best] : largest) {
        Values one;
        one.set("name", words_or(language, "reading." + std::string(gauge::name_of(measurand)),
                                 gauge::words_for(measurand)));
        one.set("value", gauge::value_words(*best.reading));
        one.set("photo", std::to_string(best.photo));
        list << one;
    }
    return list;
}

Values questions_data(const std::vector<std::string>& asked) {
    Values list{Values::type::list};
    for (std::size_t i = 0; i < asked.size(); ++i) {
        Values one;
        one.set("number", std::to_string(i + 1));
        one.set("text", asked[i]);
        list << one;
    }
    return list;
}

Values attachments_data(const std::vector<std::string>& names) {
    Values list{Values::type::list};
    for (const std::string& name : names) {
        Values one;
        one.set("name", name);
        list << one;
    }
    return list;
}

bool retire_met(const record::CaseFile& file) {
    const std::vector<record::AdviceEntry> advice = file.all_advice();
    return std::any_of(advice.begin(), advice.end(),
                       [](const record::AdviceEntry& a) { return a.outcome == criteria::Outcome::retire; });
}

std::filesystem::path first_existing(std::span<const std::filesystem::path> folders) {
    for (const std::filesystem::path& folder : folders)
        if (std::filesystem::is_directory(folder)) return folder;
    throw Failure(Fault::outside, tr("letter templates"), "their folder is missing",
                  "install the program again, or run it from its source folder");
}

}  // namespace

LetterTemplate parse_letter_template(std::string_view text, const std::string& name) {
    LetterTemplate out;
    out.language = name;
    const auto refuse = [&](int line, const char* what) {
        throw Failure(Fault::input, trf("letter template “{}”, line {}", name, line), what,
                      "mend the file or take it from the package again");
    };
    int number = 0;
    bool words_end = false;
    while (!words_end) {
        if (text.empty()) refuse(number, tr_later("the line ---- behind the words is missing"));
        const std::string_view line = trimmed(take_line(text));
        ++number;
        words_end = line == "----";
        if (words_end || line.empty() || line.starts_with("{{!")) continue;
        const std::size_t sign = line.find('=');
        if (sign == std::string_view::npos) refuse(number, tr_later("it is not of the form “key = words”"));
        const std::string key(trimmed(line.substr(0, sign)));
        const std::string words(trimmed(line.substr(sign + 1)));
        if (key.empty() || words.empty()) refuse(number, tr_later("the key or its words are missing"));
        if (!out.words.emplace(key, words).second) refuse(number, tr_later("the key stands there twice"));
    }
    const std::size_t between = text.find("\n----\n");
    if (between == std::string_view::npos)
        refuse(number, tr_later("the line ---- before the reminder is missing"));
    std::string_view reminder = text.substr(between + std::string_view("\n----\n").size());
    text = text.substr(0, between + 1);
    const auto take_subject = [&](std::string_view& letter) {
        constexpr std::string_view mark = "Subject:";
        const std::string_view subject = take_line(letter);
        if (!subject.starts_with(mark))
            refuse(number + 1, tr_later("each letter must begin with “Subject:”"));
        return std::string(trimmed(subject.substr(mark.size())));
    };
    out.subject = take_subject(text);
    out.body = text;
    out.reminder_subject = take_subject(reminder);
    out.reminder_body = reminder;
    return out;
}

LetterTemplate load_letter_template(std::span<const std::filesystem::path> folders,
                                    const std::string& language) {
    const std::vector<std::string> languages = letter_languages(folders);
    if (std::find(languages.begin(), languages.end(), language) == languages.end())
        throw Failure(Fault::usage, trf("language “{}”", language), "there is no letter in it",
                      trf("choose from {}", fmt::format("{}", fmt::join(languages, ", "))));
    std::ifstream file(first_existing(folders) / (language + ".txt"), std::ios::binary);
    const std::string text((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    return parse_letter_template(text, language);
}

std::vector<std::string> letter_languages(std::span<const std::filesystem::path> folders) {
    std::vector<std::string> languages;
    for (const auto& entry : std::filesystem::directory_iterator(first_existing(folders)))
        if (entry.path().extension() == ".txt") languages.push_back(entry.path().stem().string());
    std::sort(languages.begin(), languages.end());
    return languages;
}

std::span<const LetterQuestion> letter_questions() {
    return questions;
}

std::vector<std::string> asked_questions(const LetterInput& input, const LetterTemplate& language) {
    const auto chosen = [&](const LetterQuestion& question) {
        return std::find(input.questions.begin(), input.questions.end(), question.key) !=
               input.questions.end();
    };
    for (const std::string& key : input.questions) {
        if (std::any_of(questions.begin(), questions.end(),
                        [&](const LetterQuestion& q) { return q.key == key; }))
            continue;
        std::vector<std::string_view> keys;
        for (const LetterQuestion& question : questions) keys.push_back(question.key);
        throw Failure(Fault::usage, trf("question “{}”", key), "there is no such question",
                      trf("choose from {}", fmt::format("{}", fmt::join(keys, ", "))));
    }
    std::vector<std::string> asked;
    for (const LetterQuestion& question : questions) {
        if (!chosen(question)) continue;
        std::string key = "ask." + std::string(question.key);
        Values values;
        if (question.key == "cleaner" && !input.substance.empty()) {
            key += "_named";
            values.set("substance", input.substance);
        }
        const std::string words = words_or(language, key, std::string(question.words));
        asked.emplace_back(trimmed(rendered(words, values, language.language)));
    }
    return asked;
}

Letter write_letter(const LetterInput& input, const LetterTemplate& language) {
    if (input.questions.empty() && trimmed(input.own_words).empty())
        throw Failure(Fault::usage, tr("letter"), "it asks nothing",
                      "choose a question or write your own words");
    const record::Item& item = input.file.item;
    const std::string kind = kind_words(item, language);
    const auto date_words = [](const std::optional<Date>& date) {
        return date ? to_text(*date) : std::string();
    };
    const auto length_words = [](const std::optional<Millimetres>& length) {
        return length ? record::length_words(*length) : std::string();
    };

    Values values;
    put(values, "hold_number", input.file.hold.number);
    put(values, "item", item_words(item, kind));
    put(values, "kind", kind);
    put(values, "maker", item.maker);
    put(values, "model", item.model);
    put(values, "serial", item.serial);
    put(values, "batch", item.batch);
    put(values, "standard", item.standard);
    put(values, "size", length_words(item.diameter_or_width));
    put(values, "length", length_words(item.length));
    put(values, "made", date_words(item.made));
    put(values, "first_used", date_words(item.first_used));
    put(values, "mark", item.mark);
    put(values, "seen", tr_recorded(input.file.hold.seen));
    Values findings{Values::type::list};
    for (const record::Finding& finding : input.file.findings) findings << finding_data(finding, language);
    values.set("findings", findings);
    const Values readings = readings_data(input.file, language);
    values.set("has_readings", !readings.is_empty_list());
    values.set("readings", readings);
    values.set("retire_met", retire_met(input.file));
    const std::vector<std::string> asked = asked_questions(input, language);
    values.set("has_questions", !asked.empty());
    values.set("questions", questions_data(asked));
    put(values, "own_words", trimmed(input.own_words));
    values.set("has_attachments", !input.attachments.empty());
    values.set("attachments", attachments_data(input.attachments));
    put(values, "reply_by", date_words(input.reply_by));
    put(values, "keeper", input.keeper);
    put(values, "outfit", input.outfit);

    Letter letter;
    letter.subject = trimmed(rendered(language.subject, values, language.language));
    letter.body = tidy(rendered(language.body, values, language.language));
    return letter;
}

Letter write_reminder(const LetterInput& input, const LetterTemplate& language) {
    Values sent{Values::type::list};
    for (const record::Query& query : input.file.queries) {
        if (!query.sent) continue;
        Values one;
        one.set("day", to_text(day_of(*query.sent)));
        one.set("subject", query.subject);
        sent << one;
    }
    if (sent.is_empty_list())
        throw Failure(Fault::usage, tr("reminder"), "no query was sent that it could follow up",
                      "send a query first");
    const record::Item& item = input.file.item;
    Values values;
    put(values, "hold_number", input.file.hold.number);
    put(values, "item", item_words(item, kind_words(item, language)));
    put(values, "mark", item.mark);
    put(values, "serial", item.serial);
    values.set("queries", sent);
    put(values, "own_words", trimmed(input.own_words));
    put(values, "reply_by", input.reply_by ? to_text(*input.reply_by) : std::string());
    put(values, "keeper", input.keeper);
    put(values, "outfit", input.outfit);
    Letter letter;
    letter.subject = trimmed(rendered(language.reminder_subject, values, language.language));
    letter.body = tidy(rendered(language.reminder_body, values, language.language));
    return letter;
}

}  // namespace frayhold::pack
