// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

// The texts of a page's template that a person reads, each whole as a translator wants it.
namespace frayhold::web {

// A text runs between two tags that part it, such as <p> or <td>, or between two sections of the template;
// tags that only mark words, such as <a> or <strong>, stay in it without their attributes, "<a>the maker's
// book</a>", numbered where there are several alike; a variable {{mark}} is the field {mark}. The attributes
// placeholder, aria-label, title, alt and data-once (what a button says once it is pressed) are texts too.
// What holds no letter of its own is none.
[[nodiscard]] std::vector<std::string> page_texts(std::string_view page);

// The template with each of its texts as `translate` gives it. A field or tag that the translation lacks or
// adds leaves the English.
[[nodiscard]] std::string translated_page(std::string_view page,
                                          const std::function<std::string(const std::string&)>& translate);

}  // namespace frayhold::web
