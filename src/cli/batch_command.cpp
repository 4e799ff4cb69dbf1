// SPDX-License-Identifier: Apache-2.0
#include "cli/batch_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/words.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

struct Options {
    desk::BatchNotice notice;
    std::string made_from;
    std::string made_to;
    std::string who;
    bool json = false;
};

nlohmann::ordered_json marks_json(const std::vector<record::Item>& items) {
    auto list = nlohmann::ordered_json::array();
    for (const record::Item& item : items) list.push_back(item.mark);
    return list;
}

std::string marks_words(const std::vector<record::Item>& items) {
    std::vector<std::string> marks;
    for (const record::Item& item : items) marks.push_back(item.mark);
    return joined(marks, ", ");
}

void print_plan(Session& session, const desk::BatchPlan& plan, bool json) {
    if (json) {
        nlohmann::ordered_json out;
        out["to_hold"] = marks_json(plan.to_hold);
        out["taken_in_unknown"] = marks_json(plan.taken_in_unknown);
        out["already_held"] = marks_json(plan.already_held);
        out["out_of_service"] = marks_json(plan.out_of_service);
        out["opened"] = nlohmann::ordered_json::array();
        for (const record::Hold& hold : plan.opened) out["opened"].push_back(record::as_json(hold));
        return print_json(session.out, out);
    }
    if (!plan.to_hold.empty()) {
        const std::string marks = marks_words(plan.to_hold);
        session.out << (plan.opened.empty() ? trf("To be held: {}", marks) : trf("Held now: {}", marks))
                    << '\n';
    }
    if (!plan.taken_in_unknown.empty())
        session.out << trf("Among them because batch or date made is not recorded: {}",
                           marks_words(plan.taken_in_unknown))
                    << '\n';
    if (!plan.already_held.empty())
        session.out << trf("On hold already: {}", marks_words(plan.already_held)) << '\n';
    if (!plan.out_of_service.empty())
        session.out << trf("Out of service: {}", marks_words(plan.out_of_service)) << '\n';
    if (plan.to_hold.empty() && plan.already_held.empty() && plan.out_of_service.empty())
        session.out << tr("No item is touched by this notice.") << '\n';
}

std::shared_ptr<Options> add_notice_options(CLI::App& command) {
    auto options = std::make_shared<Options>();
    command.add_option("--maker", options->notice.maker, tr("the maker"))->required();
    command.add_option("--model", options->notice.model, tr("the model"))->required();
    command.add_option("--batch", options->notice.batch, tr("the batch"));
    command.add_option("--made-from", options->made_from, tr("made on or after this date"));
    command.add_option("--made-to", options->made_to, tr("made on or before this date"));
    command.add_flag("--json", options->json, tr("print JSON"));
    return options;
}

desk::BatchNotice notice_of(const Options& options) {
    desk::BatchNotice notice = options.notice;
    if (!options.made_from.empty()) notice.made_from = date_of("--made-from", options.made_from);
    if (!options.made_to.empty()) notice.made_to = date_of("--made-to", options.made_to);
    return notice;
}

}  // namespace

void add_batch_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("batch", tr("A maker's notice about a batch: hold every item it speaks of"));
    group.require_subcommand(1);

    CLI::App& preview =
        *group.add_subcommand("preview", tr("Show what 'batch hold' would do; changes nothing"));
    auto asked = add_notice_options(preview);
    preview.callback([&session, asked] {
        print_plan(session, open_desk(session).preview_batch_hold(notice_of(*asked)), asked->json);
    });

    CLI::App& hold = *group.add_subcommand("hold", tr("Open a hold on every item the notice speaks of"));
    auto ordered = add_notice_options(hold);
    hold.add_option("--words", ordered->notice.words, tr("which notice, and what it says"))->required();
    add_by_option(hold, ordered->who);
    add_caution(hold);
    hold.callback([&session, ordered] {
        desk::Desk desk = open_desk(session, ordered->who);
        print_plan(session, desk.batch_hold(notice_of(*ordered)), ordered->json);
    });
}

}  // namespace frayhold::cli
