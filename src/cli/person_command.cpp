// SPDX-License-Identifier: Apache-2.0
#include "cli/person_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "desk/forgetting.h"

namespace frayhold::cli {

void add_person_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("person", "The people the store names");
    group.require_subcommand(1);
    CLI::App& forget = *group.add_subcommand(
        "forget", "Erase a person's name from the store for good; the journal stays proved");
    struct Options {
        std::string name;
        std::string who;
    };
    auto options = std::make_shared<Options>();
    forget.add_option("NAME", options->name, "the name as the journal writes it")->required();
    add_by_option(forget, options->who);
    forget.callback([&session, options] {
        const desk::Forgotten forgotten = open_desk(session, options->who).forget_person(options->name);
        session.out << fmt::format(
            "The name is erased from {} rows, {} of them in the journal; \"{}\" stands there now.\n",
            forgotten.rows, forgotten.entries.size(), forgotten.instead);
        if (forgotten.entries_kept > 0)
            session.out << fmt::format(
                "{} journal entries written by an older program keep the name: their chain covers it.\n",
                forgotten.entries_kept);
        for (const std::string& sha256 : forgotten.kept_files)
            session.out << "It stays in a kept message or picture: originals/" << sha256.substr(0, 2) << '/'
                        << sha256 << '\n';
        session.out << "Backups, exports and packs made before still hold the name: destroy those you may.\n";
    });
}

}  // namespace frayhold::cli
