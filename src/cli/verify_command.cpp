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
    json["proved_up_to"] = report.proved_up_to ? nlohmann::ordered_json(*report.proved_up_to) : nullptr;
    json["sealed_rows"] = report.sealed_rows;
    json["kept_files"] = report.kept_files;
    return json;
}

}  // namespace

void add_verify_command(CLI::App& app, Session& session) {
    CLI::App& command =
        *app.add_subcommand("verify", "Check the whole store: journal, every row, kept files and schema");
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, "print JSON");
    auto head = std::make_shared<std::string>();
    command
        .add_option("--head", *head,
                    "a journal head from paper: prove that nothing up to it was changed since")
        ->check(CLI::Validator(
            [](std::string& value) {
                const bool is_hash =
                    value.size() == 64 && value.find_first_not_of("0123456789abcdef") == std::string::npos;
                return is_hash ? std::string() : std::string("a journal head has 64 digits of 0-9 and a-f");
            },
            "HASH"));
    command.callback([&session, json, head] {
        const desk::VerifyReport report = open_desk(session).verify(*head);
        if (!report.faults.empty()) session.exit_code = static_cast<int>(Fault::input);
        if (*json) return print_json(session.out, report_as_json(report));
        for (const desk::VerifyFault& fault : report.faults)
            session.out << Error{Fault::input, fault.what, fault.where, fault.mend}.sentence() << '\n';
        for (const std::string& note : report.notes) session.out << "Note: " << note << '\n';
        session.out << fmt::format("{}: {} journal entries, {} sealed rows, {} kept files\n",
                                   report.faults.empty() ? "All is well" : "Not all is well",
                                   report.journal_entries, report.sealed_rows, report.kept_files);
        if (report.proved_up_to)
            session.out << fmt::format("The head given is that of entry {}: nothing up to it was changed\n",
                                       *report.proved_up_to);
        session.out << "Journal head " << report.journal_head << '\n';
    });
}

}  // namespace frayhold::cli
