// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

void add_person_command(CLI::App& app, Session& session);

}  // namespace frayhold::cli
