// SPDX-License-Identifier: Apache-2.0
#include "web/visit.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>

#include "criteria/advice.h"
#include "language/error_words.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/language_choice.h"

namespace frayhold::web {

Answer Visit::page(const std::string& name, nlohmann::json data, int status) const {
    data["who"] = who;
    data["token"] = token;
    data["phone"] = by_phone();
    data["holder_role"] = holder ? record::words_for(*holder) : tr("at the bench");
    data["can_read_letters"] = may(Task::letters);
    data["can_keep"] = may(Task::keep);
    data["can_decide"] = may(Task::decide);
    data["at_bench"] = may(Task::bench);
    data["caution"] = tr_word(criteria::caution);
    add_language_choice(data, *this);
    return Answer::page(house.pages.page(name, data), status);
}

Answer Visit::page_again(const std::string& name, nlohmann::json data, const Error& error) const {
    data["error"] = error_words(error);
    return page(name, std::move(data), status_of(error.fault));
}

Answer sorry_page(const Visit& visit, const Error& error) {
    return sorry_page(visit, error, status_of(error.fault));
}

Answer sorry_page(const Visit& visit, const Error& error, int status) {
    return visit.page("sorry", {{"title", tr("That did not work")}, {"sentence", error_words(error)}},
                      status);
}

Answer own_pdf(const std::string& file_name, std::span<const std::byte> bytes) {
    Answer answer = Answer::bytes("application/pdf", bytes);
    answer.headers.emplace("Content-Disposition", "inline; filename*=UTF-8''" + percent_encoded(file_name));
    return answer;
}

int status_of(Fault fault) {
    switch (fault) {
        case Fault::usage:
            return 400;
        case Fault::input:
            return 422;
        case Fault::refused:
            return 409;
        case Fault::outside:
            break;
    }
    return 500;
}

std::string day_words(Time time) {
    return to_text(day_of(time));
}

std::string age_words(Time since, Date today) {
    const auto days = (std::chrono::sys_days(today) - std::chrono::floor<std::chrono::days>(since)).count();
    return days <= 0 ? tr("today") : trn("{} day", "{} days", days);
}

std::string hold_path(const std::string& hold) {
    return "/hold/" + percent_encoded(hold);
}

int whole_number(const std::string& text, const std::string& name) {
    int number = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (fault != std::errc() || end != text.data() + text.size() || number < 0)
        throw Failure(Fault::input, name, trf("\"{}\" is no whole number", record::as_plain_text(text)),
                      "give one such as 2");
    return number;
}

std::optional<Millimetres> length_typed(const std::string& text, const std::string& name) {
    std::string typed = record::trimmed(text);
    if (typed.empty()) return std::nullopt;
    std::replace(typed.begin(), typed.end(), ',', '.');
    char* end = nullptr;
    const double number = std::strtod(typed.c_str(), &end);
    const std::string unit = record::trimmed(end);
    constexpr double mm_per_cm = 10.0, mm_per_m = 1000.0;
    const double factor = unit.empty() || unit == "m" ? mm_per_m : unit == "cm" ? mm_per_cm : 1.0;
    if (end == typed.c_str() || !std::isfinite(number) || (factor == 1.0 && unit != "mm"))
        throw Failure(Fault::input, name, trf("\"{}\" is no length", record::as_plain_text(text)),
                      "give one such as 3.2 m or 85 mm");
    return Millimetres(number * factor);
}

}  // namespace frayhold::web
