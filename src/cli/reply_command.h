// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "cli/session.h"

namespace frayhold::cli {

void add_reply_command(CLI::App& app, Session& session);

// "H-2026-0001: reply 1 from post@brandel-voss.example is kept, with 2 attachments".
[[nodiscard]] std::string kept_words(const record::Reply& reply);

// By which commands it is read and its answer entered.
[[nodiscard]] std::string read_words(const record::Reply& reply);

}  // namespace frayhold::cli
