// SPDX-License-Identifier: Apache-2.0
#include "desk/charts.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "language/tr.h"
#include "pack/chart.h"

namespace frayhold::desk {
namespace {

std::string kind_words(const store::Tally& tally) {
    return tr_word(tally.label);
}

// A name that somebody gave stays as it is.
std::string name_words(const store::Tally& tally) {
    return tally.label == store::not_recorded ? tr_word(tally.label) : tally.label;
}

// Only the first bar says what is counted.
std::string named_once(const pack::BarChart& chart, long count, const std::string& named) {
    return chart.bars.empty() ? named : std::to_string(count);
}

pack::BarChart tally_chart(const std::string& title, const std::vector<store::Tally>& tallies,
                           std::string (*words_of)(const store::Tally&)) {
    pack::BarChart chart{title, {}, ""};
    for (const store::Tally& tally : tallies) {
        if (chart.bars.size() == most_bars) {
            chart.note = trn("{} further one is left out here; 'store show --json' has it.",
                             "{} further ones are left out here; 'store show --json' has them all.",
                             tallies.size() - most_bars);
            break;
        }
        const std::string count =
            named_once(chart, tally.count, trn("{} finding", "{} findings", tally.count));
        chart.bars.push_back({words_of(tally), static_cast<double>(tally.count), count});
    }
    return chart;
}

pack::BarChart reply_chart(const std::vector<int>& days) {
    struct Step {
        int to;
        const char* words;
    };
    static constexpr std::array steps{
        Step{2, tr_later("up to 2 days")},   Step{7, tr_later("3 to 7 days")},
        Step{14, tr_later("8 to 14 days")},  Step{30, tr_later("15 to 30 days")},
        Step{60, tr_later("31 to 60 days")}, Step{1 << 30, tr_later("longer")}};
    pack::BarChart chart{tr("Days makers take to reply"), {}, ""};
    if (days.empty()) return chart;
    auto from = days.begin();
    for (const Step& step : steps) {
        const auto to = std::upper_bound(from, days.end(), step.to);
        const long count = to - from;
        chart.bars.push_back({tr_word(step.words), static_cast<double>(count),
                              named_once(chart, count, trn("{} reply", "{} replies", count))});
        from = to;
    }
    chart.note =
        trf("In days: half of them within {:g}, the slowest after {}.", median_of(days), days.back());
    return chart;
}

pack::BarChart verdict_chart(const std::vector<store::AnsweredVerdict>& verdicts) {
    pack::BarChart chart{tr("Verdicts by the maker's answer"), {}, ""};
    for (const store::AnsweredVerdict& line : verdicts) {
        const std::string answer = line.answer ? record::words_for(*line.answer) : tr("no answer");
        chart.bars.push_back({answer + ": " + record::words_for(line.verdict),
                              static_cast<double>(line.count),
                              named_once(chart, line.count, trn("{} verdict", "{} verdicts", line.count))});
    }
    return chart;
}

pack::ColumnChart leaving_chart(const store::Figures& figures, Date today) {
    constexpr int months = 60;
    pack::ColumnChart chart{tr("Items leaving each month by their life"), tr("items"), {}, {}, ""};
    std::vector<record::Kind> kinds;
    for (const record::Kind kind : record::all_kinds())
        if (std::any_of(figures.leaving.begin(), figures.leaving.end(),
                        [&](const store::Leaving& line) { return line.kind == kind; })) {
            kinds.push_back(kind);
            chart.series.push_back(record::words_for(kind));
        }
    if (!kinds.empty()) {
        std::map<std::pair<int, unsigned>, std::vector<double>> by_month;
        for (const store::Leaving& line : figures.leaving) {
            auto& values = by_month[{line.year, line.month}];
            values.resize(kinds.size());
            const auto at = std::find(kinds.begin(), kinds.end(), line.kind) - kinds.begin();
            values[static_cast<std::size_t>(at)] += line.count;
        }
        for (std::chrono::year year = today.year(); year <= add_months(today, months).year(); ++year) {
            pack::ColumnRow row{std::to_string(static_cast<int>(year)), {}};
            for (unsigned month = 1; month <= 12; ++month)
                row.columns.push_back(
                    {fmt::format("{:02}", month), by_month[{static_cast<int>(year), month}]});
            chart.rows.push_back(std::move(row));
        }
    }
    if (figures.life_over + figures.life_unknown > 0)
        chart.note = trf("Besides: {} whose life is over and {} of unknown end, which counts as over.",
                         figures.life_over, figures.life_unknown);
    return chart;
}

}  // namespace

double median_of(const std::vector<int>& sorted) {
    const std::size_t half = sorted.size() / 2;
    if (sorted.size() % 2 == 1) return sorted[half];
    return (sorted[half - 1] + sorted[half]) / 2.0;
}

std::vector<Chart> charts_of(const Figures& figures, Date today) {
    return {
        {"findings-by-kind",
         pack::bar_chart_svg(tally_chart(tr("Findings by kind"), figures.findings_by_kind, kind_words))},
        {"findings-by-model",
         pack::bar_chart_svg(tally_chart(tr("Findings by model"), figures.findings_by_model, name_words))},
        {"findings-by-place",
         pack::bar_chart_svg(tally_chart(tr("Findings by place"), figures.findings_by_place, name_words))},
        {"findings-by-age", pack::bar_chart_svg(tally_chart(tr("Findings by age of the item, in whole years"),
                                                            figures.findings_by_age, name_words))},
        {"reply-days", pack::bar_chart_svg(reply_chart(figures.reply_days))},
        {"verdicts-by-answer", pack::bar_chart_svg(verdict_chart(figures.verdicts))},
        {"leaving-by-month", pack::column_chart_svg(leaving_chart(figures, today))}};
}

}  // namespace frayhold::desk
