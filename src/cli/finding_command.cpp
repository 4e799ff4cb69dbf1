// SPDX-License-Identifier: Apache-2.0
#include "cli/finding_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/words.h"
#include "criteria/table.h"
#include "desk/shipped.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

void add_add(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string kind;
        std::string at;
        std::string side;
        std::string words;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand("add", tr("Record what a hand felt or an eye saw"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("--kind", options->kind, tr("a kind of finding: see 'finding kinds'"))->required();
    command.add_option("--at", options->at, tr("how far along the item from its marked end, such as 3.2m"));
    command.add_option("--side", options->side, tr("which side, in your words"));
    command.add_option("--words", options->words, tr("more, in your words"));
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the finding as JSON"));
    add_caution(command);
    command.callback([&session, options] {
        record::Finding finding;
        finding.kind = options->kind;
        if (!options->at.empty()) finding.station = length_along_of("--at", options->at);
        finding.side = options->side;
        finding.words = options->words;
        desk::Desk desk = open_desk(session, options->who);
        const record::Finding added = desk.add_finding(options->hold, finding);
        if (options->json) return print_json(session.out, record::as_json(added));
        session.out << trf("{}: finding {}: {}", added.hold, added.number, tr_recorded(added.kind_words))
                    << '\n';
        print_advice(session.out, added.advice, 2);
    });
}

void add_kinds(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("kinds", tr("List the kinds of finding the criteria know"));
    auto subject = std::make_shared<std::string>("rope");
    auto json = std::make_shared<bool>(false);
    command.add_option("--subject", *subject,
                       trf("{}, {} or {} (default {})", "rope", "webbing", "lanyard", "rope"));
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, subject, json] {
        const auto named = criteria::subject_named(*subject);
        if (!named) not_a_choice("--subject", *subject, {"rope", "webbing", "lanyard"});
        const std::vector<criteria::FindingKind> kinds = desk::usual_criteria().findings(*named);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const criteria::FindingKind& kind : kinds)
                list.push_back({{"kind", kind.name}, {"words", kind.words}});
            return print_json(session.out, list);
        }
        TextTable table({tr("kind"), tr("meaning")});
        for (const criteria::FindingKind& kind : kinds) table.add({kind.name, tr_word(kind.words)});
        table.print(session.out);
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List the findings of a hold"));
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, hold, json] {
        const std::vector<record::Finding> findings = open_desk(session).case_file(*hold).findings;
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::Finding& finding : findings) list.push_back(record::as_json(finding));
            return print_json(session.out, list);
        }
        TextTable table({trc("number", "no"), tr("finding"), tr("where"), tr("words"), trc("who", "by")});
        for (const record::Finding& finding : findings)
            table.add({std::to_string(finding.number), tr_recorded(finding.kind_words),
                       record::place_words(finding), finding.words, finding.found_by});
        table.print(session.out);
    });
}

}  // namespace

void add_finding_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("finding", tr("Findings by hand on a hold"));
    group.require_subcommand(1);
    add_add(group, session);
    add_kinds(group, session);
    add_list(group, session);
}

}  // namespace frayhold::cli
