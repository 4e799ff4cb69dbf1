// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

// backup, restore and export.
void add_copy_commands(CLI::App& app, Session& session);

}  // namespace frayhold::cli
