// SPDX-License-Identifier: Apache-2.0
#include "cli/kit_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

nlohmann::ordered_json kit_json(const desk::KitState& kit) {
    nlohmann::ordered_json out{{"kit", kit.name}, {"short", kit.is_short()}};
    out["lines"] = nlohmann::ordered_json::array();
    for (const desk::KitState::Line& line : kit.lines)
        out["lines"].push_back({{"kind", record::name_of(line.kind)},
                                {"needed", line.needed},
                                {"in_service", line.in_service},
                                {"out_of_service", line.out_of_service},
                                {"missing", line.missing()}});
    for (const auto& [name, items] :
         {std::pair{"limited", &kit.limited}, std::pair{"out_of_service", &kit.out_of_service}}) {
        out[name] = nlohmann::ordered_json::array();
        for (const record::Item& item : *items) out[name].push_back(record::as_json(item));
    }
    return out;
}

// "SHORT OF 2 sewn sling, 1 harness"; empty where nothing is missing.
std::string short_words(const desk::KitState& kit) {
    std::vector<std::string> missing;
    for (const desk::KitState::Line& line : kit.lines)
        if (line.missing() > 0)
            missing.push_back(fmt::format("{} {}", line.missing(), record::words_for(line.kind)));
    return missing.empty() ? "" : trf("SHORT OF {}", joined(missing, ", "));
}

void print_kit(std::ostream& out, const desk::KitState& kit) {
    out << kit.name << '\n';
    TextTable table({tr("kind"), tr("needed"), tr("in service"), tr("out of service")});
    for (const desk::KitState::Line& line : kit.lines)
        table.add({record::words_for(line.kind), line.needed > 0 ? std::to_string(line.needed) : "",
                   std::to_string(line.in_service), std::to_string(line.out_of_service)});
    table.print(out, 2);
    for (const record::Item& item : kit.limited)
        out << "  " << trf("{} LIMIT: {}", item.mark, item.limit) << '\n';
    for (const record::Item& item : kit.out_of_service)
        out << "  " << trf("{} is {}", item.mark, record::words_for(item.status)) << '\n';
    if (kit.is_short()) out << "  " << short_words(kit) << '\n';
}

void add_need(CLI::App& group, Session& session) {
    struct Options {
        std::string kit;
        std::string kind;
        int count = 0;
        std::string who;
    };
    CLI::App& command =
        *group.add_subcommand("need", tr("Say how many items of a kind a kit must have in service"));
    auto options = std::make_shared<Options>();
    command.add_option("KIT", options->kit, tr("the kit"))->required();
    command.add_option("KIND", options->kind, tr("a kind of item"))->required();
    take_whole_number(command.add_option("COUNT", options->count, tr("how many; 0 for none")), 0)->required();
    add_by_option(command, options->who);
    command.callback([&session, options] {
        const record::Kind kind = choice_of("KIND", options->kind, record::kind_named, record::all_kinds(),
                                            [](record::Kind each) { return record::name_of(each); });
        desk::Desk desk = open_desk(session, options->who);
        desk.set_kit_need(options->kit, kind, options->count);
        // Translators: a kit, a count and a kind of item, "Bag 3 needs 2 sewn sling".
        session.out << trf("{} needs {} {}", options->kit, options->count, record::words_for(kind)) << '\n';
    });
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("show", tr("Show what a kit needs, has and is short of"));
    auto name = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("KIT", *name, tr("the kit"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, name, json] {
        const desk::KitState kit = open_desk(session).kit(*name);
        if (*json) return print_json(session.out, kit_json(kit));
        print_kit(session.out, kit);
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List kits and what each is short of"));
    auto limit = std::make_shared<int>(200);
    auto offset = std::make_shared<int>(0);
    auto json = std::make_shared<bool>(false);
    add_range_options(command, *limit, *offset);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, limit, offset, json] {
        const std::vector<desk::KitState> kits = open_desk(session).kits(*limit, *offset);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::KitState& kit : kits) list.push_back(kit_json(kit));
            return print_json(session.out, list);
        }
        if (kits.empty()) session.out << tr("There is no kit.") << '\n';
        TextTable table(
            {tr("kit"), tr("in service"), tr("out of service"), tr("limits"), trc("of a kit", "short")});
        for (const desk::KitState& kit : kits) {
            int in_service = 0;
            for (const desk::KitState::Line& line : kit.lines) in_service += line.in_service;
            table.add({kit.name, std::to_string(in_service), std::to_string(kit.out_of_service.size()),
                       kit.limited.empty() ? "" : std::to_string(kit.limited.size()), short_words(kit)});
        }
        if (!kits.empty()) table.print(session.out);
    });
}

}  // namespace

void add_kit_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("kit", tr("Kits: what each needs, has and is short of"));
    group.require_subcommand(1);
    add_need(group, session);
    add_show(group, session);
    add_list(group, session);
}

}  // namespace frayhold::cli
