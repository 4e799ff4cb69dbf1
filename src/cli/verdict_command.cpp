// SPDX-License-Identifier: Apache-2.0
#include "cli/verdict_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

std::string kind_words() {
    std::vector<std::string> names;
    for (const record::VerdictKind kind : record::all_verdict_kinds())
        names.emplace_back(record::name_of(kind));
    return joined(names, ", ");
}

// "K-12a=20m".
record::Part part_of(const std::string& text) {
    const std::size_t sign = text.rfind('=');
    if (sign == std::string::npos || sign == 0)
        throw Failure(Fault::usage, "--part", trf("\"{}\" is not MARK=LENGTH", text), "such as K-12a=20m");
    return {text.substr(0, sign), length_along_of("--part", text.substr(sign + 1))};
}

void add_give(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string kind;
        std::string reason;
        std::string limit;
        std::vector<std::string> parts;
        std::string scrapped;
        std::string witness;
        std::string by;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("give", tr("Give the verdict that ends a hold: for a competent person only"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("--kind", options->kind, trf("one of {}", kind_words()))->required();
    command.add_option("--by", options->by, tr("name of the competent person who decides"))->required();
    command.add_option("--reason", options->reason, tr("why; needed wherever a rule speaks against it"));
    command.add_option("--limit", options->limit, tr("the limit, with return_with_limit"));
    command
        .add_option("--part", options->parts,
                    tr("a part kept, MARK=LENGTH, with cut_and_keep_parts; may be repeated"))
        ->allow_extra_args(false);
    command.add_option("--scrapped", options->scrapped,
                       tr("the length cut out and destroyed, with cut_and_keep_parts"));
    command.add_option("--witness", options->witness, tr("who saw the destruction"));
    command.add_flag("--json", options->json, tr("print the verdict as JSON"));
    add_caution(command);
    command.callback([&session, options] {
        desk::VerdictOrder order;
        order.kind =
            choice_of("--kind", options->kind, record::verdict_kind_named, record::all_verdict_kinds(),
                      [](record::VerdictKind kind) { return record::name_of(kind); });
        order.by = options->by;
        order.reason = options->reason;
        order.limit = options->limit;
        for (const std::string& part : options->parts) order.parts.push_back(part_of(part));
        if (!options->scrapped.empty()) order.scrapped = length_along_of("--scrapped", options->scrapped);
        order.witness = options->witness;
        desk::Desk desk = open_desk(session, options->by);
        const record::Verdict verdict = desk.give_verdict(options->hold, order);
        if (options->json) return print_json(session.out, record::as_json(verdict));
        const record::Item item = desk.case_file(options->hold).item;
        // Translators: a hold, the verdict and who gave it.
        session.out << trf("{}: {}, by {}", options->hold, record::words_for(verdict.kind), verdict.by)
                    << '\n';
        for (const std::string& rule : verdict.given_against)
            session.out << "  " << trf("GIVEN AGAINST: {}", tr_recorded(rule)) << '\n';
        session.out << "  " << trf("{} is now {}", item.mark, record::words_for(item.status)) << '\n';
    });
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("show", tr("Show the verdict on a hold"));
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, hold, json] {
        const std::optional<record::Verdict> verdict = open_desk(session).case_file(*hold).verdict;
        if (*json)
            return print_json(session.out,
                              verdict ? record::as_json(*verdict) : nlohmann::ordered_json(nullptr));
        if (!verdict) {
            session.out << trf("{}: no verdict yet; the item stays out of service", *hold) << '\n';
            return;
        }
        print_verdict(session.out, *verdict);
    });
}

}  // namespace

void add_verdict_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("verdict", tr("Verdicts of a competent person"));
    group.require_subcommand(1);
    add_give(group, session);
    add_show(group, session);
}

}  // namespace frayhold::cli
