// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <limits>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace frayhold::cli {

inline constexpr std::int64_t no_highest = std::numeric_limits<int>::max();

// Lets an option take a whole number of these alone: --help says so, and so does the error for another.
CLI::Option* take_whole_number(CLI::Option* option, std::int64_t lowest, std::int64_t highest = no_highest);

// --limit and --offset of a list that comes in parts.
void add_range_options(CLI::App& command, int& limit, int& offset);

}  // namespace frayhold::cli
