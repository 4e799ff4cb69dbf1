// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <string>

#include "post/account.h"

namespace CLI {
class App;
}

namespace frayhold::cli {

// The option --account of every command that sends or fetches.
void add_account_option(CLI::App& command, std::string& file);

// Throws Failure: Fault::usage where no account is named, Fault::input where it cannot be used.
[[nodiscard]] std::shared_ptr<const post::MailAccount> account_of(const std::string& file);

}  // namespace frayhold::cli
