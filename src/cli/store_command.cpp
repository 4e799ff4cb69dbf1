// SPDX-License-Identifier: Apache-2.0
#include "cli/store_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/words.h"
#include "desk/charts.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

nlohmann::ordered_json figures_json(const store::Figures& figures) {
    nlohmann::ordered_json out;
    for (const auto& [name, tallies] : {std::pair{"findings_by_kind", &figures.findings_by_kind},
                                        std::pair{"findings_by_model", &figures.findings_by_model},
                                        std::pair{"findings_by_place", &figures.findings_by_place},
                                        std::pair{"findings_by_age_years", &figures.findings_by_age}}) {
        out[name] = nlohmann::ordered_json::array();
        for (const store::Tally& tally : *tallies)
            out[name].push_back({{"label", tally.label}, {"count", tally.count}});
    }
    out["reply_days"] = figures.reply_days;
    out["verdicts"] = nlohmann::ordered_json::array();
    for (const store::AnsweredVerdict& line : figures.verdicts) {
        nlohmann::ordered_json entry;
        entry["answer"] = line.answer ? nlohmann::ordered_json(record::name_of(*line.answer)) : nullptr;
        entry["verdict"] = record::name_of(line.verdict);
        entry["count"] = line.count;
        out["verdicts"].push_back(std::move(entry));
    }
    out["life_over"] = figures.life_over;
    out["life_unknown"] = figures.life_unknown;
    out["leaving"] = nlohmann::ordered_json::array();
    for (const store::Leaving& line : figures.leaving)
        out["leaving"].push_back({{"month", fmt::format("{}-{:02}", line.year, line.month)},
                                  {"kind", record::name_of(line.kind)},
                                  {"count", line.count}});
    return out;
}

void print_tallies(std::ostream& out, const std::string& title, const std::vector<store::Tally>& tallies) {
    out << title << '\n';
    TextTable table;
    for (std::size_t i = 0; i < std::min(tallies.size(), desk::most_bars); ++i)
        table.add({std::to_string(tallies[i].count), tr_recorded(tallies[i].label)});
    if (table.empty()) table.add({tr("none is recorded")});
    table.print(out, 2);
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("show", tr("Show counts: findings, replies, verdicts, lives that end"));
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, json] {
        const store::Figures figures = open_desk(session).figures();
        if (*json) return print_json(session.out, figures_json(figures));
        print_tallies(session.out, tr("Findings by kind"), figures.findings_by_kind);
        print_tallies(session.out, tr("Findings by model"), figures.findings_by_model);
        print_tallies(session.out, tr("Findings by place"), figures.findings_by_place);
        print_tallies(session.out, tr("Findings by age of the item, in whole years"),
                      figures.findings_by_age);
        if (!figures.reply_days.empty())
            session.out << trn("{0} reply came, within {1:g} days",
                               "Half of {0} replies came within {1:g} days", figures.reply_days.size(),
                               desk::median_of(figures.reply_days))
                        << '\n';
        session.out << trn("{} item with a life that is over, {} with an unknown end",
                           "{} items with a life that is over, {} with an unknown end", figures.life_over,
                           figures.life_unknown)
                    << '\n';
        std::map<int, int> by_year;
        for (const store::Leaving& line : figures.leaving) by_year[line.year] += line.count;
        for (const auto& [year, count] : by_year)
            session.out << trn("{} item leaves in {} by its life", "{} items leave in {} by their life",
                               count, year)
                        << '\n';
    });
}

void add_charts(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("charts", tr("Write the charts as SVG files into a folder"));
    auto folder = std::make_shared<std::string>();
    command.add_option("-o,--output", *folder, tr("the folder; it is made where it is missing"))->required();
    command.callback([&session, folder] {
        const desk::Desk desk = open_desk(session);
        std::error_code fault;
        std::filesystem::create_directories(*folder, fault);
        if (fault)
            throw Failure(Fault::outside, *folder, trf("the folder cannot be made: {}", system_words(fault)),
                          "name another");
        for (const desk::Chart& chart : desk::charts_of(desk.figures(), desk.today())) {
            const std::string file = (std::filesystem::path(*folder) / (chart.name + ".svg")).string();
            write_whole_file(file, std::as_bytes(std::span(chart.svg)));
            session.out << file << '\n';
        }
    });
}

}  // namespace

void add_store_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("store", tr("What the store shows as a whole"));
    group.require_subcommand(1);
    add_show(group, session);
    add_charts(group, session);
}

}  // namespace frayhold::cli
