// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include "units/date.h"
#include "units/quantity.h"

// Reads what was typed. `option` names the option in an error; every error is a Failure (Fault::usage) that
// says what was expected and what came.
namespace frayhold::cli {

[[nodiscard]] double number_of(const std::string& option, std::string_view text);

// A whole number above zero.
[[nodiscard]] int whole_number_of(const std::string& option, std::string_view text);

// "x,y,x,y": pixels of the upright picture.
[[nodiscard]] std::vector<cv::Point2d> points_of(const std::string& option, std::string_view text);

// "850", "850mm", "42.5m"; above zero.
[[nodiscard]] Millimetres length_of(const std::string& option, std::string_view text);

// The same where metres are meant as often as millimetres: how long an item is, how far along it. Its unit
// must stand there.
[[nodiscard]] Millimetres length_along_of(const std::string& option, std::string_view text);

// As on a label: "2019-03-14", "2019-03" or "2019".
[[nodiscard]] Date date_of(const std::string& option, std::string_view text);

// "2026-02-28T09:30:00Z".
[[nodiscard]] Time time_of(const std::string& option, std::string_view text);

// One of a closed list of words, such as "rope" or "webbing". `named` gives the value of a word.
template <class Named, class Values, class Name>
auto choice_of(const std::string& option, std::string_view text, Named named, const Values& values,
               Name name);

[[nodiscard]] std::string joined(const std::vector<std::string>& words, std::string_view between);

// Why the system would not do it. What is rare comes in its own words.
[[nodiscard]] std::string system_words(std::error_code reason);

[[noreturn]] void not_a_choice(const std::string& option, std::string_view text,
                               const std::vector<std::string>& choices);

template <class Named, class Values, class Name>
auto choice_of(const std::string& option, std::string_view text, Named named, const Values& values,
               Name name) {
    if (const auto value = named(text)) return *value;
    std::vector<std::string> choices;
    for (const auto& value : values) choices.emplace_back(name(value));
    not_a_choice(option, text, choices);
}

}  // namespace frayhold::cli
