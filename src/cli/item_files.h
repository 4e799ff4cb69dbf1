// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

// item import, item export and item record: the register and one item as files.
void add_item_files(CLI::App& group, Session& session);

}  // namespace frayhold::cli
