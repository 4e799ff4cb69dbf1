// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "cli/session.h"

namespace CLI {
class App;
}

namespace frayhold::cli {

// Every command with its options and its words. The commands write to the session, which must outlive them.
[[nodiscard]] std::unique_ptr<CLI::App> command_tree(Session& session);

}  // namespace frayhold::cli
