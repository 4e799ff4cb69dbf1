// SPDX-License-Identifier: Apache-2.0
#include "cli/verify_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

namespace frayhold::cli {
namespace {

nlohmann::ordered_json report_as_json(const desk::VerifyReport& report) {
    nlohmann::ordered_json json;
    json["sound"] = report.faults.empty();
    json["faults"] = nlohmann::ordered_json::array();
    for (const desk::VerifyFault& fault : report.faults)
        json["faults"].push_back({{"where", fault.where}, {"what", fault.what}, {"mend", fault.mend}});
    json["notes"] = report.notes;
    json["journal_entries"] = report.journal_entries;
    json["journal_head"] = report.journal_head;
    json["kept_files"] = report.kept_files;
    return json;
}

}  // namespace

void add_verify_command(CLI::App& app, Session& session) {
    CLI::App& command =
        *app.add_subcommand("verify", "Check the whole store: journal, kept files and records");
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, "print JSON");
    command.callback([&session, json] {
        const desk::VerifyReport report = open_desk(session).verify();
        if (!report.faults.empty()) session.exit_code = static_cast<int>(Fault::input);
        if (*json) return print_json(session.out, report_as_json(report));
        for (const desk::VerifyFault& fault : report.faults)
            session.out << Error{Fault::input, fault.what, fault.where, fault.mend}.sentence() << '\n';
        for (const std::string& note : report.notes) session.out << "Note: " << note << '\n';
        session.out << fmt::format("{}: {} journal entries, {} kept files\nJournal head {}\n",
                                   report.faults.empty() ? "All is well" : "Not all is well",
                                   report.journal_entries, report.kept_files, report.journal_head);
    });
}

}  // namespace frayhold::cli
