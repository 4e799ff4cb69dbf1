// SPDX-License-Identifier: Apache-2.0
#include "cli/account_option.h"

#include <CLI/CLI.hpp>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::cli {

void add_account_option(CLI::App& command, std::string& file) {
    command
        .add_option("--account", file, tr("the mail account's settings, a JSON file; else FRAYHOLD_ACCOUNT"))
        ->envname("FRAYHOLD_ACCOUNT");
}

std::shared_ptr<const post::MailAccount> account_of(const std::string& file) {
    if (file.empty())
        throw Failure(Fault::usage, "--account", "no mail account is named",
                      "give --account FILE or set FRAYHOLD_ACCOUNT");
    return std::make_shared<const post::MailAccount>(post::read_account(file));
}

}  // namespace frayhold::cli
