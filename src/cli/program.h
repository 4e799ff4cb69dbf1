// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/command_line.h"

namespace frayhold::cli {

// What main does: a session on the standard streams, by the environment, and run() on its words. Gives the
// exit code.
[[nodiscard]] int be_the_program(int argc, char** argv, const TreeMaker& tree);

}  // namespace frayhold::cli
