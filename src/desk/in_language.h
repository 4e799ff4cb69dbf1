// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "language/languages.h"
#include "language/speaking.h"
#include "units/error.h"

// What is made in another language than that of the person at the desk. For the files of this folder only.
namespace frayhold::desk {

// In English: for what is kept, whose bytes must not hang on who was here.
template <class Make>
[[nodiscard]] auto in_english(const Make& make) {
    const language::Speaking english(nullptr);
    return make();
}

// What a rule gives, in English, to be kept. What it refuses is thrown in the language in force.
template <class Rule>
[[nodiscard]] auto recorded(const Rule& rule) {
    if (auto made = in_english(rule)) return *std::move(made);
    return value_or_throw(rule());
}

// In the language of a letter; in English where there is no catalogue for it or `languages` is null. What is
// thrown is in the language in force.
template <class Make>
[[nodiscard]] auto in_language(language::Languages* languages, const std::string& name, const Make& make) {
    try {
        const language::Speaking letter(languages == nullptr ? nullptr : languages->of(name));
        return make();
    } catch (const Failure&) {
        static_cast<void>(make());
        throw;
    }
}

}  // namespace frayhold::desk
