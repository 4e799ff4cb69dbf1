// SPDX-License-Identifier: Apache-2.0
#include "cli/hold_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"
#include "record/rules.h"

namespace frayhold::cli {
namespace {

void add_open(CLI::App& group, Session& session) {
    struct Options {
        std::string mark;
        std::string seen;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand("open", tr("Take an item out of service because of a doubt"));
    auto options = std::make_shared<Options>();
    command.add_option("MARK", options->mark, tr("the item's mark"))->required();
    command.add_option("--seen", options->seen, tr("what was seen or happened, in your words"))->required();
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the hold as JSON"));
    add_caution(command);
    command.callback([&session, options] {
        desk::Desk desk = open_desk(session, options->who);
        const record::Hold hold = desk.open_hold(options->mark, options->seen);
        if (options->json) return print_json(session.out, record::as_json(hold));
        session.out << trf("{} is open: {} is out of service until a competent person gives a verdict",
                           hold.number, hold.item)
                    << '\n';
    });
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("show", tr("Show a hold: evidence, advice, post, verdict, next step"));
    auto number = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *number, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, number, json] {
        const language::Speaking speaking(language_for(*json));
        const desk::Desk desk = open_desk(session);
        const record::CaseFile file = desk.case_file(*number);
        if (*json) return print_json(session.out, record::as_json(file));
        print_case(session.out, file, desk.today());
    });
}

std::string reply_words(const desk::HoldLine& line) {
    if (line.reply_to_read) return tr("to be read");
    if (!line.reply_due) return "";
    const std::string due = to_text(*line.reply_due);
    return line.overdue ? trf("{} overdue", due) : due;
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "list", tr("List holds: replies to read first, then overdue ones, then the longest open"));
    auto filter = std::make_shared<desk::HoldFilter>();
    auto state = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("WORDS", filter->text,
                       tr("words that begin a number, mark, serial, maker, model, batch, kit or place"));
    command.add_option("--state", *state,
                       trf("only in this state: {}", "open, evidence, ready, asked, answered, verdict"));
    command.add_flag("--running", filter->running_only, tr("only those without a verdict"));
    add_range_options(command, filter->limit, filter->offset);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, filter, state, json] {
        if (!state->empty())
            filter->state = choice_of("--state", *state, record::hold_state_named, record::all_hold_states(),
                                      [](record::HoldState each) { return record::name_of(each); });
        const desk::Desk desk = open_desk(session);
        const std::vector<desk::HoldLine> lines = desk.find_holds(*filter);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::HoldLine& line : lines) {
                nlohmann::ordered_json entry = record::as_json(line.hold);
                entry["maker"] = line.maker;
                entry["model"] = line.model;
                entry["reply_due"] =
                    line.reply_due ? nlohmann::ordered_json(to_text(*line.reply_due)) : nullptr;
                entry["overdue"] = line.overdue;
                entry["reply_to_read"] = line.reply_to_read;
                list.push_back(std::move(entry));
            }
            return print_json(session.out, list);
        }
        if (lines.empty()) {
            session.out << tr("No hold fits.") << '\n';
            return;
        }
        TextTable table(
            {trc("the case", "hold"), tr("item"), tr("state"), tr("opened"), tr("reply"), tr("seen")});
        for (const desk::HoldLine& line : lines)
            table.add({line.hold.number, line.hold.item, record::words_for(line.hold.state),
                       day_words(line.hold.opened), reply_words(line), tr_recorded(line.hold.seen)});
        table.print(session.out);
    });
}

void add_ready(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("ready", tr("State that the evidence is complete; says what is missing"));
    auto number = std::make_shared<std::string>();
    auto who = std::make_shared<std::string>();
    command.add_option("HOLD", *number, tr("the hold's number"))->required();
    add_by_option(command, *who);
    command.callback([&session, number, who] {
        desk::Desk desk = open_desk(session, *who);
        const record::Hold hold = desk.mark_ready(*number);
        session.out << fmt::format("{}: {}\n", hold.number, record::words_for(hold.state));
    });
}

}  // namespace

void add_hold_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("hold", tr("Holds: items out of service until a verdict"));
    group.require_subcommand(1);
    add_open(group, session);
    add_show(group, session);
    add_list(group, session);
    add_ready(group, session);
}

}  // namespace frayhold::cli
