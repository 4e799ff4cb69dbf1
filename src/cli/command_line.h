// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "cli/command_tree.h"
#include "cli/session.h"

namespace frayhold::cli {

// The commands there are, made when the session's language is in force.
using TreeMaker = std::function<std::unique_ptr<CLI::App>(Session&)>;

// Runs the program on its words (without the program's own name) and gives the exit code: 0 done, else a
// Fault. An error is one line on the session's err.
[[nodiscard]] int run(std::vector<std::string> words, Session& session, const TreeMaker& tree = command_tree);

}  // namespace frayhold::cli
