// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace CLI {
class App;
}

namespace frayhold::cli {

// The program's manual page in man(7)'s macros, out of the commands themselves, so that it cannot say
// anything else.
[[nodiscard]] std::string manual_page(const CLI::App& tree, const std::string& version);

// What bash offers after a word of the command line: commands, options, files where a word may name one.
[[nodiscard]] std::string bash_completion(const CLI::App& tree);

}  // namespace frayhold::cli
