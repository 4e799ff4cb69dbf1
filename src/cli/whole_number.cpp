// SPDX-License-Identifier: Apache-2.0
#include "cli/whole_number.h"

#include <CLI/CLI.hpp>
#include <charconv>
#include <string>

#include "language/tr.h"

namespace frayhold::cli {
namespace {

bool is_within(const std::string& text, std::int64_t lowest, std::int64_t highest) {
    std::int64_t value = 0;
    const char* const last = text.data() + text.size();
    const auto [end, fault] = std::from_chars(text.data(), last, value);
    return fault == std::errc() && end == last && value >= lowest && value <= highest;
}

}  // namespace

CLI::Option* take_whole_number(CLI::Option* option, std::int64_t lowest, std::int64_t highest) {
    const bool is_open = highest == no_highest;
    // Translators: what an option takes, in --help. INT is a whole number.
    option->type_name(is_open ? trf("INT ({} or more)", lowest) : trf("INT ({} to {})", lowest, highest));
    return option->check([=](const std::string& text) {
        if (is_within(text, lowest, highest)) return std::string();
        return is_open ? trf("\"{}\" is not a whole number of at least {}", text, lowest)
                       : trf("\"{}\" is not a whole number from {} to {}", text, lowest, highest);
    });
}

void add_range_options(CLI::App& command, int& limit, int& offset) {
    constexpr int most = 1'000'000;
    take_whole_number(command.add_option("--limit", limit, trf("at most so many (default {})", limit)), 1,
                      most);
    take_whole_number(command.add_option("--offset", offset, tr("leave out so many at the start")), 0);
}

}  // namespace frayhold::cli
