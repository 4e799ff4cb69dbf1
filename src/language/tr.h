// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <fmt/format.h>

#include <string>
#include <string_view>

#include "language/later.h"
#include "language/speaking.h"

// Every text that a person reads goes through one of these, with its English as a literal: that is how it is
// gathered for the translators (src/language/gather). Without a translation the English stands.
//
// The English of a text with fields is checked when it is compiled; tests/language holds the fields of each
// translation to the English ones. A translation may number its fields, {1} {0}, to turn their order round.
// What a program reads is never translated: names in JSON, CSV headings, words that are stored or hashed.
namespace frayhold {

// A text without fields. It is returned as it is even where it holds braces.
[[nodiscard]] std::string tr(const char* english);

// Where one English word has several meanings; `context` tells them apart: trc("verdict", "return").
[[nodiscard]] std::string trc(const char* context, const char* english);

// A text that was marked by tr_later. One that is in no catalogue, such as a maker's own words, is returned
// as it is.
[[nodiscard]] std::string tr_word(std::string_view english);

namespace language {

// The translated text with its fields filled in; the English where there is none or its fields are wrong.
[[nodiscard]] std::string filled(const char* translated, fmt::string_view english, fmt::format_args values);
[[nodiscard]] const char* translated(fmt::string_view english);          // null where there is none
[[nodiscard]] const char* translated(fmt::string_view one, long count);  // the form for a count, or null

}  // namespace language

// A text with fields: trf("{} is on hold", mark).
template <class... Values>
[[nodiscard]] std::string trf(fmt::format_string<const Values&...> english, const Values&... values) {
    const fmt::string_view text = english;
    return language::filled(language::translated(text), text, fmt::make_format_args(values...));
}

// By a count, which is the first field of both: trn("{} photo", "{} photos", photos.size()). Further fields
// follow. Where a form does not name the count, it must number its fields.
template <class Count, class... Values>
[[nodiscard]] std::string trn(fmt::format_string<const Count&, const Values&...> one,
                              fmt::format_string<const Count&, const Values&...> many, const Count& count,
                              const Values&... values) {
    const fmt::string_view english = count == Count{1} ? fmt::string_view(one) : fmt::string_view(many);
    return language::filled(language::translated(one, static_cast<long>(count)), english,
                            fmt::make_format_args(count, values...));
}

}  // namespace frayhold
