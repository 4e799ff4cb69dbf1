// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "language/languages.h"
#include "web/visit.h"

// In which language a person reads the pages.
namespace frayhold::web {

inline constexpr const char* language_cookie = "language";

// The one chosen on a page, where it can be had; else the first that the browser asks for. English (null)
// where there are no languages, and where a catalogue is damaged: nobody is kept from the holds by that.
[[nodiscard]] const language::Catalogue* language_for(const Request& request, language::Languages* languages);

// "Deutsch" of "de"; the code itself where its name is not known.
[[nodiscard]] std::string own_name(const std::string& code);

// The languages to choose from, for the layout, where there is more than one. Not on what answers a POST:
// what was typed there would be lost.
void add_language_choice(nlohmann::json& data, const Visit& visit);

// Keeps the language chosen and goes back to the page where it was.
[[nodiscard]] Answer choose_language(const Visit& visit);

// A path of this site with its query, as percent_encoded leaves them; "/" for anything else, so that no form
// sends anybody elsewhere.
[[nodiscard]] std::string own_path(const std::string& given);

}  // namespace frayhold::web
