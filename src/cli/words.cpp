// SPDX-License-Identifier: Apache-2.0
#include "cli/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "language/tr.h"
#include "record/item.h"
#include "units/error.h"

namespace frayhold::cli {
namespace {

Failure unexpected(const std::string& option, const std::string& what) {
    return {Fault::usage, option, what, tr("see --help")};
}

std::optional<double> plain_number(std::string_view text) {
    double value = 0.0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

}  // namespace

double number_of(const std::string& option, std::string_view text) {
    const auto value = plain_number(text);
    if (!value) throw unexpected(option, trf("\"{}\" is not a number", text));
    return *value;
}

int whole_number_of(const std::string& option, std::string_view text) {
    int value = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc() || end != text.data() + text.size() || value <= 0)
        throw unexpected(option, trf("\"{}\" is not a whole number above 0", text));
    return value;
}

std::vector<cv::Point2d> points_of(const std::string& option, std::string_view text) {
    std::vector<double> numbers;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t comma = std::min(text.find(',', at), text.size());
        const auto value = plain_number(text.substr(at, comma - at));
        if (!value)
            throw unexpected(option,
                             trf("\"{}\" is not a list of pixel positions such as 10,20,310.5,20", text));
        numbers.push_back(*value);
        at = comma + 1;
    }
    if (numbers.size() % 2 != 0)
        throw unexpected(option, trf("\"{}\" is not a list of pairs x,y: one number is missing", text));
    std::vector<cv::Point2d> points;
    for (std::size_t i = 0; i < numbers.size(); i += 2) points.emplace_back(numbers[i], numbers[i + 1]);
    return points;
}

Millimetres length_of(const std::string& option, std::string_view text) {
    constexpr double mm_per_m = 1000.0;
    double factor = 1.0;
    std::string_view digits = text;
    if (digits.ends_with("mm")) {
        digits.remove_suffix(2);
    } else if (digits.ends_with("m")) {
        digits.remove_suffix(1);
        factor = mm_per_m;
    }
    while (digits.ends_with(' ')) digits.remove_suffix(1);
    const auto value = plain_number(digits);
    if (!value || *value <= 0.0)
        throw unexpected(option, trf("\"{}\" is not a length such as 850mm or 42.5m", text));
    return Millimetres(*value * factor);
}

Millimetres length_along_of(const std::string& option, std::string_view text) {
    const Millimetres length = length_of(option, text);
    if (!text.ends_with('m'))
        throw Failure(Fault::usage, option, trf("\"{}\" has no unit", text), "give one, as in 12m or 850mm");
    return length;
}

Date date_of(const std::string& option, std::string_view text) {
    const auto date = record::parse_label_date(text);
    if (!date)
        throw unexpected(option, trf("\"{}\" is not a date such as 2019-03-14, 2019-03 or 2019", text));
    return *date;
}

Time time_of(const std::string& option, std::string_view text) {
    const auto time = parse_time(text);
    if (!time) throw unexpected(option, trf("\"{}\" is not a time such as 2026-02-28T09:30:00Z", text));
    return *time;
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
    return fmt::format("{}", fmt::join(words, between));
}

void not_a_choice(const std::string& option, std::string_view text, const std::vector<std::string>& choices) {
    throw unexpected(option, trf("\"{}\" is not one of {}", text, joined(choices, ", ")));
}

std::string system_words(std::error_code reason) {
    if (reason == std::errc::permission_denied) return tr("Permission denied");
    if (reason == std::errc::no_such_file_or_directory) return tr("No such file or directory");
    if (reason == std::errc::not_a_directory) return tr("Not a directory");
    if (reason == std::errc::is_a_directory) return tr("Is a directory");
    if (reason == std::errc::file_exists) return tr("File exists");
    if (reason == std::errc::no_space_on_device) return tr("No space left on device");
    if (reason == std::errc::read_only_file_system) return tr("Read-only file system");
    if (reason == std::errc::io_error) return tr("Input/output error");
    return reason.message();
}

}  // namespace frayhold::cli
