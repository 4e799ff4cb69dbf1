// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "cli/session.h"

namespace frayhold::cli {

// Runs the program on its words (without the program's own name) and gives the exit code: 0 done, else a
// Fault. An error is one line on the session's err.
[[nodiscard]] int run(std::vector<std::string> words, Session& session);

}  // namespace frayhold::cli
