// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

// item lives and item destroyed.
void add_item_lists(CLI::App& group, Session& session);

}  // namespace frayhold::cli
