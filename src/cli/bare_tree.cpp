// SPDX-License-Identifier: Apache-2.0
#include "cli/bare_tree.h"

#include <CLI/CLI.hpp>

#include "criteria/advice.h"
#include "language/tr.h"

namespace frayhold::cli {
namespace {

// --help with the parser's own words in the language in force.
class Help : public CLI::Formatter {
  public:
    Help() {
        label("Usage", tr("Usage"));
        label("OPTIONS", tr("OPTIONS"));
        label("SUBCOMMAND", tr("SUBCOMMAND"));
        label("Positionals", tr("Positionals"));
        label("REQUIRED", tr("REQUIRED"));
        label("Env", trc("a variable of the environment", "Env"));
        label("Needs", trc("another option", "Needs"));
        label("Excludes", trc("another option", "Excludes"));
        label("TEXT", tr("TEXT"));
        label("INT", trc("a whole number", "INT"));
    }

    // Options of every command are in one group, whose name is no label.
    std::string make_group(std::string group, bool is_positional,
                           std::vector<const CLI::Option*> options) const override {
        return CLI::Formatter::make_group(group == "Options" ? tr("Options") : std::move(group),
                                          is_positional, std::move(options));
    }
};

// What every command inherits.
void speak(CLI::App& app) {
    app.formatter(std::make_shared<Help>());
    app.set_help_flag("-h,--help", tr("Print this help message and exit"));
    app.group(tr("Subcommands"));
}

}  // namespace

std::unique_ptr<CLI::App> bare_tree(Session& session) {
    auto tree = std::make_unique<CLI::App>(
        tr("Frayhold keeps doubtful textile fall-protection gear on hold, measures its damage on photos and\n"
           "carries the case to the maker and to a competent person's verdict."),
        "frayhold");
    CLI::App& app = *tree;
    speak(app);
    app.add_option("--store", session.store,
                   tr("folder of the store, or postgresql://… of a shared one; else FRAYHOLD_STORE"));
    app.add_option("--photos", session.photos,
                   tr("folder or bucket for the photos of a shared store; else FRAYHOLD_PHOTOS"));
    app.add_option("--photos-key", session.photos_key,
                   tr("file with the bucket's key, readable by you alone; else FRAYHOLD_PHOTOS_KEY"));
    app.require_subcommand(1);
    // --store may stand anywhere in the line.
    app.fallthrough();
    app.footer(
        tr("Exit codes: 0 done, 2 wrong usage, 3 bad input, 4 refused by a rule of the hold, 5 outside "
           "fault.") +
        '\n' + tr_word(criteria::caution));
    return tree;
}

}  // namespace frayhold::cli
