// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "cli/session.h"

namespace CLI {
class App;
}

namespace frayhold::cli {

// The program without a command: what it is, and the options and words that every command shares.
[[nodiscard]] std::unique_ptr<CLI::App> bare_tree(Session& session);

}  // namespace frayhold::cli
