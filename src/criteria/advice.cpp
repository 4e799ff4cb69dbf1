// SPDX-License-Identifier: Apache-2.0
#include "criteria/advice.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "criteria/conformity.h"
#include "gauge/measurand.h"
#include "gauge/student_t.h"
#include "language/tr.h"
#include "units/error.h"

namespace frayhold::criteria {
namespace {

// One reading, or ratio of two, set against a criterion's limit.
struct Comparison {
    Uncertain<double> y;
    double U = 0.0;
    double beyond = 0.0;       // how far y lies beyond the limit; negative where it doesn't
    double probability = 0.0;  // that the true value lies beyond the limit
};

Comparison compared(const Uncertain<double>& y, const Measured& measured) {
    const double U = gauge::coverage_factor(y.dof) * y.u;
    if (measured.side == Measured::Side::above)
        return {y, U, y.value - measured.limit, probability_above(y, measured.limit)};
    const Uncertain<double> turned{-y.value, y.u, y.dof};
    return {y, U, measured.limit - y.value, probability_above(turned, -measured.limit)};
}

// The comparison with the highest probability, and then the one farthest beyond the limit, among all readings
// of the quantity; nothing where it was not read.
std::optional<Comparison> worst(std::span<const gauge::Reading> readings, const Measured& measured) {
    std::optional<Comparison> worst;
    const auto consider = [&](const Uncertain<double>& y) {
        const Comparison each = compared(y, measured);
        if (!worst || std::pair(each.probability, each.beyond) > std::pair(worst->probability, worst->beyond))
            worst = each;
    };
    for (const gauge::Reading& reading : readings) {
        if (reading.measurand != measured.quantity) continue;
        if (!measured.ratio_to) {
            consider({reading.value, reading.u, reading.dof});
            continue;
        }
        for (const gauge::Reading& divisor : readings)
            if (divisor.measurand == *measured.ratio_to && divisor.value > 0.0)
                consider(ratio(reading, divisor));
    }
    return worst;
}

std::string words_for(const Comparison& comparison, const Measured& measured) {
    std::string quantity(gauge::name_of(measured.quantity));
    std::string unit;
    if (measured.ratio_to)
        quantity += fmt::format(" / {}", gauge::name_of(*measured.ratio_to));
    else if (const auto symbol = gauge::symbol_of(gauge::unit_of(measured.quantity)); !symbol.empty())
        unit = fmt::format(" {}", symbol);
    const bool any = measured.side == Measured::Side::above && measured.limit == 0.0;
    const int decimals = unit.empty() ? 2 : 1;
    return fmt::format("{} {:.{}f} ± {:.{}f}{}, {}", quantity, comparison.y.value, decimals, comparison.U,
                       decimals, unit,
                       any ? "any counts" : fmt::format("limit {:.{}f}{}", measured.limit, decimals, unit));
}

std::string words_for(const HandFinding& finding, const Table& table) {
    std::string words = table.finding_named(finding.kind)->words;
    if (!finding.where.empty()) words += ", " + finding.where;
    return words;
}

bool asks_for(const Criterion& criterion, const HandFinding& finding) {
    return std::find(criterion.findings.begin(), criterion.findings.end(), finding.kind) !=
           criterion.findings.end();
}

// What a criterion says of a reading; nothing where it is clearly not met.
std::optional<Advice> weigh(const Comparison& comparison, const Criterion& criterion, Outcome outcome) {
    Advice advice;
    advice.criterion = criterion.name;
    advice.outcome = outcome;
    advice.probability = comparison.probability;
    advice.source = criterion.source;
    advice.words = criterion.words;
    advice.because = words_for(comparison, *criterion.measured);
    advice.second_view = criterion.second_view;
    if (comparison.beyond > 0.0) {
        advice.borderline = comparison.probability < nearly_one;
        return advice;
    }
    advice.borderline = true;
    if (comparison.beyond > -criterion.measured->guard_band * comparison.U) {
        advice.outcome = Outcome::hold_and_ask;
        advice.words = fmt::format("{}: {}: {}", tr_later("Too close to the limit to tell"),
                                   // Translators: before ": " and what to do, "Retire."
                                   tr_later("hold the item and ask. If it is past the limit"), advice.words);
        return advice;
    }
    if (comparison.probability <= nearly_zero) return std::nullopt;
    advice.outcome = Outcome::no_criterion_met;
    advice.words =
        fmt::format("{}: {}",
                    // Translators: before ": " and what to do, "Retire."
                    tr_later("Not past the limit by the table's rule, but near it. If it is past the limit"),
                    advice.words);
    return advice;
}

// What a criterion says of the findings it asks for; nothing where none was entered.
std::optional<Advice> weigh(std::span<const HandFinding> findings, const Table& table,
                            const Criterion& criterion, Outcome outcome) {
    std::string because;
    for (const HandFinding& finding : findings)
        if (asks_for(criterion, finding))
            because += (because.empty() ? "" : "; ") + words_for(finding, table);
    if (because.empty()) return std::nullopt;
    return Advice{criterion.name,  outcome, 1.0,   criterion.source,
                  criterion.words, because, false, criterion.second_view};
}

// A finding somebody thought worth writing down is never passed over.
Advice without_criterion(const HandFinding& finding, const Table& table) {
    Advice advice;
    advice.criterion = finding.kind;
    advice.outcome = Outcome::hold_and_ask;
    advice.probability = 1.0;
    advice.source = tr_later("no criterion for this finding");
    advice.words = tr_later("Hold the item and ask: no criterion speaks of this finding on such an item.");
    advice.because = words_for(finding, table);
    return advice;
}

// "fray width" of "fray_width".
std::string english_words(std::string_view name) {
    const auto quantity = gauge::measurand_named(name);
    return quantity ? gauge::words_for(*quantity) : std::string(name);
}

// "fray_width / sound_width" of a `because`.
std::string quantity_words(std::string_view names) {
    constexpr std::string_view over = " / ";
    if (const auto at = names.find(over); at != std::string_view::npos)
        return quantity_words(names.substr(0, at)) + std::string(over) +
               quantity_words(names.substr(at + over.size()));
    return tr_word(english_words(names));
}

// "nick_depth 3.0 ± 0.2 mm, limit 2.0 mm" of a `because`; nothing where it is not of that form.
std::optional<std::string> measured_words(std::string_view part) {
    constexpr std::string_view any = "any counts", limit = "limit ";
    const auto sign = part.find(" ± ");
    const auto comma = part.rfind(", ");
    if (sign == std::string_view::npos || comma == std::string_view::npos || comma < sign)
        return std::nullopt;
    const auto blank = part.rfind(' ', sign - 1);
    if (sign == 0 || blank == std::string_view::npos) return std::nullopt;
    const std::string quantity = quantity_words(part.substr(0, blank));
    const std::string_view value = part.substr(blank + 1, comma - blank - 1), last = part.substr(comma + 2);
    // Translators: a quantity and what was measured, "nick depth 3.0 ± 0.2 mm, any counts".
    if (last == any) return trf("{} {}, any counts", quantity, value);
    if (!last.starts_with(limit)) return std::nullopt;
    // Translators: a quantity, what was measured, and a limit, "nick depth 3.0 ± 0.2 mm, limit 2.0 mm".
    return trf("{} {}, limit {}", quantity, value, last.substr(limit.size()));
}

// ", at 3.2 m, left side": the side is in a person's own words.
std::string place_words(std::string_view place) {
    constexpr std::string_view at = ", at ";
    if (!place.starts_with(at)) return std::string(place);
    const auto end = std::min(place.find(", ", at.size()), place.size());
    return ", " + trf("at {}", place.substr(at.size(), end - at.size())) + std::string(place.substr(end));
}

// "Melted or fused fibres, at 3.2 m, left side". The table's words may hold commas of their own.
std::string finding_words(std::string_view part) {
    for (auto end = part.size(); end != std::string_view::npos && end > 0; end = part.rfind(", ", end - 1)) {
        const std::string_view kind = part.substr(0, end);
        if (const std::string shown = tr_word(kind); shown != kind)
            return shown + place_words(part.substr(end));
    }
    return std::string(part);
}

}  // namespace

std::string because_words(std::string_view because) {
    constexpr std::string_view between = "; ";
    const auto end = because.find(between);
    const std::string_view part = because.substr(0, end);
    std::string words = measured_words(part).value_or(finding_words(part));
    if (end == std::string_view::npos) return words;
    return words + std::string(between) + because_words(because.substr(end + between.size()));
}

std::string measured_quantity(std::string_view because) {
    return english_words(because.substr(0, because.find(' ')));
}

std::vector<Advice> advise(std::span<const gauge::Reading> readings, std::span<const HandFinding> findings,
                           const Table& table, const About& about) {
    for (const HandFinding& finding : findings)
        if (!table.finding_named(finding.kind))
            throw Failure(Fault::input, tr("finding"), trf("'{}' is in no table", finding.kind),
                          "choose one of the listed findings");

    std::vector<Advice> advice;
    std::optional<double> highest;
    const std::vector<Criterion> criteria = table.criteria(about.subject, about.maker, about.model);
    for (const Criterion& criterion : criteria) {
        const Outcome outcome = about.maker_can_be_asked
                                    ? criterion.outcome
                                    : criterion.outcome_without_maker.value_or(criterion.outcome);
        auto met = weigh(findings, table, criterion, outcome);
        if (criterion.measured) {
            if (const auto comparison = worst(readings, *criterion.measured)) {
                highest = std::max(highest.value_or(0.0), comparison->probability);
                if (met)
                    met->because += "; " + words_for(*comparison, *criterion.measured);
                else
                    met = weigh(*comparison, criterion, outcome);
            }
        }
        if (met) advice.push_back(*std::move(met));
    }
    for (const HandFinding& finding : findings)
        if (std::none_of(criteria.begin(), criteria.end(),
                         [&](const Criterion& criterion) { return asks_for(criterion, finding); }))
            advice.push_back(without_criterion(finding, table));

    std::stable_sort(advice.begin(), advice.end(), [](const Advice& a, const Advice& b) {
        return std::pair(a.outcome, -a.probability.value_or(0.0)) <
               std::pair(b.outcome, -b.probability.value_or(0.0));
    });
    if (advice.empty() || advice.front().outcome == Outcome::no_criterion_met) {
        Advice closing;
        closing.probability = highest;
        closing.words = tr_later("No criterion met: the competent person decides.");
        advice.push_back(closing);
    }
    return advice;
}

}  // namespace frayhold::criteria
