// SPDX-License-Identifier: Apache-2.0
#include "cli/journal_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "language/tr.h"
#include "record/journal_entry.h"
#include "record/json.h"

namespace frayhold::cli {

void add_journal_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("journal", tr("What was done, by whom and when; no entry is ever taken out"));
    group.require_subcommand(1);
    CLI::App& command = *group.add_subcommand("list", tr("List entries, oldest first"));
    auto filter = std::make_shared<desk::JournalFilter>();
    auto json = std::make_shared<bool>(false);
    command.add_option("--subject", filter->subject, tr("only about this item's mark or hold's number"));
    command.add_option("--action", filter->action,
                       tr("only this action, as --json names it, such as hold.open"));
    take_whole_number(command.add_option("--after", filter->after, tr("only entries with a higher number")),
                      0);
    take_whole_number(command.add_option("--limit", filter->limit, tr("at most so many (default 1000)")), 1,
                      10'000'000);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, filter, json] {
        const std::vector<record::JournalEntry> entries = open_desk(session).journal(*filter);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::JournalEntry& entry : entries) list.push_back(record::as_json(entry));
            return print_json(session.out, list);
        }
        TextTable table(
            {trc("number", "no"), tr("time"), tr("who"), tr("action"), trc("what it is about", "subject")});
        for (const record::JournalEntry& entry : entries)
            table.add({std::to_string(entry.number), to_text(entry.time), entry.who,
                       record::action_words(entry.action), entry.subject});
        table.print(session.out);
    });
}

}  // namespace frayhold::cli
