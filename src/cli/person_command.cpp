// SPDX-License-Identifier: Apache-2.0
#include "cli/person_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "desk/forgetting.h"
#include "language/tr.h"

namespace frayhold::cli {

void add_person_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("person", tr("The people the store names"));
    group.require_subcommand(1);
    CLI::App& forget = *group.add_subcommand(
        "forget", tr("Erase a person's name from the store for good; the journal stays proved"));
    struct Options {
        std::string name;
        std::string who;
    };
    auto options = std::make_shared<Options>();
    forget.add_option("NAME", options->name, tr("the name as the journal writes it"))->required();
    add_by_option(forget, options->who);
    forget.callback([&session, options] {
        const desk::Forgotten forgotten = open_desk(session, options->who).forget_person(options->name);
        session.out
            << trn("The name is erased from {} row, {} of them in the journal; \"{}\" stands there now.",
                   "The name is erased from {} rows, {} of them in the journal; \"{}\" stands there now.",
                   forgotten.rows, forgotten.entries.size(), forgotten.instead)
            << '\n';
        if (forgotten.entries_kept > 0)
            session.out
                << trn("{} journal entry written by an older program keeps the name: its chain covers it.",
                       "{} journal entries written by an older program keep the name: their chain covers it.",
                       forgotten.entries_kept)
                << '\n';
        for (const std::string& sha256 : forgotten.kept_files)
            session.out << trf("It stays in a kept message or picture: {}",
                               fmt::format("originals/{}/{}", sha256.substr(0, 2), sha256))
                        << '\n';
        session.out
            << tr("Backups, exports and packs made before still hold the name: destroy those you may.")
            << '\n';
    });
}

}  // namespace frayhold::cli
