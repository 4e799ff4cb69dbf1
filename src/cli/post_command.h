// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

void add_post_command(CLI::App& app, Session& session);

// What became of queries that were tried: a line each, and the exit code where one was not sent.
void print_run(Session& session, const desk::OutboxRun& run);

}  // namespace frayhold::cli
