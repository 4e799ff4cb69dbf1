// SPDX-License-Identifier: Apache-2.0
#include "cli/copy_command.h"

#include <CLI/CLI.hpp>
#include <chrono>
#include <memory>
#include <ostream>

#include "desk/store_care.h"
#include "language/tr.h"

namespace frayhold::cli {
namespace {

void print_copy(std::ostream& out, const std::string& folder, const desk::CopyReport& report) {
    out << trn("{1}: {0} kept file, {2:.1f} MB, verified as written",
               "{1}: {0} kept files, {2:.1f} MB, verified as written", report.kept_files, folder,
               static_cast<double>(report.bytes) / 1e6)
        << '\n'
        << trf("Journal head {}", report.verified.journal_head) << '\n';
}

}  // namespace

void add_copy_commands(CLI::App& app, Session& session) {
    CLI::App& backup = *app.add_subcommand(
        "backup",
        tr("Copy the whole store into a new folder or zip while it is in use; verified as written"));
    auto to = std::make_shared<std::string>();
    backup.add_option("DIR", *to, tr("a folder, or FILE.zip, that does not exist yet"))->required();
    backup.callback([&session, to] {
        print_copy(session.out, *to, open_desk(session).backup(*to));
        session.out
            << tr("'sha256sum -c manifest-sha256.txt' in it proves it whole; 'restore' makes a store of it")
            << '\n';
    });

    CLI::App& restore =
        *app.add_subcommand("restore", tr("Make a store from a backup in a new folder; overwrites nothing"));
    struct Options {
        std::string from;
        std::string to;
    };
    auto options = std::make_shared<Options>();
    restore.add_option("BACKUP", options->from, tr("the folder or zip that backup made"))->required();
    restore.add_option("DIR", options->to, tr("the new store: a folder that does not exist yet"))->required();
    restore.callback([&session, options] {
        print_copy(session.out, options->to, desk::restore(options->from, options->to, now(session)));
    });

    CLI::App& everything = *app.add_subcommand(
        "export",
        tr("Write what the store holds as CSV, JSON and files that need no Frayhold, into a new folder"));
    auto folder = std::make_shared<std::string>();
    auto mark = std::make_shared<std::string>();
    everything.add_option("DIR", *folder, tr("a folder that does not exist yet"))->required();
    everything.add_option("--item", *mark, tr("only this item"));
    everything.callback([&session, folder, mark] {
        const desk::Desk desk = open_desk(session);
        const desk::ExportReport report =
            mark->empty() ? desk.export_all(*folder) : desk.export_item(*mark, *folder);
        session.out << trf("{}: {}, {}, {}; see its README.txt", *folder,
                           trn("{} item", "{} items", report.items), trn("{} hold", "{} holds", report.holds),
                           trn("{} original", "{} originals", report.originals))
                    << '\n';
    });
}

}  // namespace frayhold::cli
