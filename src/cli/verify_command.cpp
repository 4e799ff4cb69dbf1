// SPDX-License-Identifier: Apache-2.0
#include "cli/verify_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "language/error_words.h"
#include "language/recorded.h"
#include "language/tr.h"

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
        *app.add_subcommand("verify", tr("Check the whole store: journal, every row, kept files and schema"));
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, tr("print JSON"));
    auto head = std::make_shared<std::string>();
    command
        .add_option("--head", *head,
                    tr("a journal head from paper: prove that nothing up to it was changed since"))
        ->check(CLI::Validator(
            [](std::string& value) {
                const bool is_hash =
                    value.size() == 64 && value.find_first_not_of("0123456789abcdef") == std::string::npos;
                return is_hash ? std::string() : tr("a journal head has 64 digits of 0-9 and a-f");
            },
            "HASH"));
    command.callback([&session, json, head] {
        const language::Speaking speaking(language_for(*json));
        const desk::VerifyReport report = open_desk(session).verify(*head);
        if (!report.faults.empty()) session.exit_code = static_cast<int>(Fault::input);
        if (*json) return print_json(session.out, report_as_json(report));
        for (const desk::VerifyFault& fault : report.faults)
            session.out << error_words({Fault::input, fault.what, fault.where, fault.mend}) << '\n';
        for (const std::string& note : report.notes)
            session.out << trf("Note: {}", tr_recorded(note)) << '\n';
        // Translators: "All is well" or "Not all is well", and what was looked at.
        session.out << trf("{}: {} journal entries, {} sealed rows, {} kept files",
                           report.faults.empty() ? tr("All is well") : tr("Not all is well"),
                           report.journal_entries, report.sealed_rows, report.kept_files)
                    << '\n';
        if (report.proved_up_to)
            session.out << trf("The head given is that of entry {}: nothing up to it was changed",
                               *report.proved_up_to)
                        << '\n';
        session.out << trf("Journal head {}", report.journal_head) << '\n';
    });
}

}  // namespace frayhold::cli
