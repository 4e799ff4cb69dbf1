// SPDX-License-Identifier: Apache-2.0
#include "cli/store_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/words.h"
#include "pack/chart.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

constexpr std::size_t most_bars = 20;

pack::BarChart tally_chart(const std::string& title, const std::vector<store::Tally>& tallies) {
    pack::BarChart chart{title, "findings", {}, ""};
    for (const store::Tally& tally : tallies) {
        if (chart.bars.size() == most_bars) {
            chart.note = fmt::format("{} further ones are left out here; 'store show --json' has them all.",
                                     tallies.size() - most_bars);
            break;
        }
        chart.bars.push_back({tally.label, static_cast<double>(tally.count)});
    }
    return chart;
}

double median_of(const std::vector<int>& sorted) {
    const std::size_t half = sorted.size() / 2;
    if (sorted.size() % 2 == 1) return sorted[half];
    return (sorted[half - 1] + sorted[half]) / 2.0;
}

pack::BarChart reply_chart(const std::vector<int>& days) {
    struct Step {
        int to;
        const char* words;
    };
    static constexpr std::array steps{Step{2, "up to 2 days"},   Step{7, "3 to 7 days"},
                                      Step{14, "8 to 14 days"},  Step{30, "15 to 30 days"},
                                      Step{60, "31 to 60 days"}, Step{1 << 30, "longer"}};
    pack::BarChart chart{"Days makers take to reply", "replies", {}, ""};
    if (days.empty()) return chart;
    auto from = days.begin();
    for (const Step& step : steps) {
        const auto to = std::upper_bound(from, days.end(), step.to);
        chart.bars.push_back({step.words, static_cast<double>(to - from)});
        from = to;
    }
    chart.note =
        fmt::format("Half of them within {:g} days, the slowest after {}.", median_of(days), days.back());
    return chart;
}

pack::BarChart verdict_chart(const std::vector<store::AnsweredVerdict>& verdicts) {
    pack::BarChart chart{"Verdicts by the maker's answer", "verdicts", {}, ""};
    for (const store::AnsweredVerdict& line : verdicts) {
        const std::string answer = line.answer ? std::string(record::words_for(*line.answer)) : "no answer";
        chart.bars.push_back(
            {answer + ": " + std::string(record::words_for(line.verdict)), static_cast<double>(line.count)});
    }
    return chart;
}

pack::ColumnChart leaving_chart(const store::Figures& figures, Date today) {
    constexpr int months = 60;
    pack::ColumnChart chart{"Items leaving each month by their life", "items", {}, {}, ""};
    std::vector<record::Kind> kinds;
    for (const record::Kind kind : record::all_kinds())
        if (std::any_of(figures.leaving.begin(), figures.leaving.end(),
                        [&](const store::Leaving& line) { return line.kind == kind; })) {
            kinds.push_back(kind);
            chart.series.emplace_back(record::words_for(kind));
        }
    if (!kinds.empty()) {
        std::map<std::string, std::vector<double>> by_month;
        for (const store::Leaving& line : figures.leaving) {
            auto& values = by_month[fmt::format("{}-{:02}", line.year, line.month)];
            values.resize(kinds.size());
            const auto at = std::find(kinds.begin(), kinds.end(), line.kind) - kinds.begin();
            values[static_cast<std::size_t>(at)] += line.count;
        }
        Date month = today.year() / today.month() / std::chrono::day(1);
        for (int i = 0; i <= months; ++i, month = add_months(month, 1)) {
            const std::string label = to_text(month).substr(0, 7);
            const auto found = by_month.find(label);
            chart.columns.push_back(
                {label, found == by_month.end() ? std::vector<double>(kinds.size()) : found->second});
        }
    }
    if (figures.life_over + figures.life_unknown > 0)
        chart.note =
            fmt::format("Besides: {} whose life is over and {} of unknown end, which counts as over.",
                        figures.life_over, figures.life_unknown);
    return chart;
}

std::vector<std::pair<std::string, std::string>> charts_of(const store::Figures& figures, Date today) {
    return {
        {"findings-by-kind", pack::bar_chart_svg(tally_chart("Findings by kind", figures.findings_by_kind))},
        {"findings-by-model",
         pack::bar_chart_svg(tally_chart("Findings by model", figures.findings_by_model))},
        {"findings-by-place",
         pack::bar_chart_svg(tally_chart("Findings by place", figures.findings_by_place))},
        {"findings-by-age", pack::bar_chart_svg(tally_chart("Findings by age of the item, in whole years",
                                                            figures.findings_by_age))},
        {"reply-days", pack::bar_chart_svg(reply_chart(figures.reply_days))},
        {"verdicts-by-answer", pack::bar_chart_svg(verdict_chart(figures.verdicts))},
        {"leaving-by-month", pack::column_chart_svg(leaving_chart(figures, today))}};
}

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
    for (std::size_t i = 0; i < std::min(tallies.size(), most_bars); ++i)
        table.add({std::to_string(tallies[i].count), tallies[i].label});
    if (table.empty()) table.add({"none is recorded"});
    table.print(out, 2);
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("show", "Show counts: findings, replies, verdicts, lives that end");
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, "print JSON");
    command.callback([&session, json] {
        const store::Figures figures = open_desk(session).figures();
        if (*json) return print_json(session.out, figures_json(figures));
        print_tallies(session.out, "Findings by kind", figures.findings_by_kind);
        print_tallies(session.out, "Findings by model", figures.findings_by_model);
        print_tallies(session.out, "Findings by place", figures.findings_by_place);
        print_tallies(session.out, "Findings by age of the item, in whole years", figures.findings_by_age);
        if (!figures.reply_days.empty())
            session.out << fmt::format("Half of {} replies came within {:g} days\n",
                                       figures.reply_days.size(), median_of(figures.reply_days));
        session.out << fmt::format("{} items with a life that is over, {} with an unknown end\n",
                                   figures.life_over, figures.life_unknown);
        std::map<int, int> by_year;
        for (const store::Leaving& line : figures.leaving) by_year[line.year] += line.count;
        for (const auto& [year, count] : by_year)
            session.out << fmt::format("{} items leave in {} by their life\n", count, year);
    });
}

void add_charts(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("charts", "Write the charts as SVG files into a folder");
    auto folder = std::make_shared<std::string>();
    command.add_option("-o,--output", *folder, "the folder; it is made where it is missing")->required();
    command.callback([&session, folder] {
        const desk::Desk desk = open_desk(session);
        std::error_code fault;
        std::filesystem::create_directories(*folder, fault);
        if (fault)
            throw Failure(Fault::outside, *folder, "the folder cannot be made: " + fault.message(),
                          "name another");
        for (const auto& [name, svg] : charts_of(desk.figures(), desk.today())) {
            const std::string file = (std::filesystem::path(*folder) / (name + ".svg")).string();
            write_whole_file(file, std::as_bytes(std::span(svg)));
            session.out << file << '\n';
        }
    });
}

}  // namespace

void add_store_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("store", "What the store shows as a whole");
    group.require_subcommand(1);
    add_show(group, session);
    add_charts(group, session);
}

}  // namespace frayhold::cli
