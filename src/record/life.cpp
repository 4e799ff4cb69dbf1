// SPDX-License-Identifier: Apache-2.0
#include "record/life.h"

#include <fmt/format.h>

#include <array>

#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array states{
    Named<LifeState>{LifeState::no_rule, "no_rule", ""},
    Named<LifeState>{LifeState::running, "running", ""},
    Named<LifeState>{LifeState::ending, "ending", ""},
    Named<LifeState>{LifeState::over, "over", ""},
    Named<LifeState>{LifeState::unknown_date, "unknown_date", ""},
};

struct Limit {
    std::optional<Date> end;  // empty where the date it counts from cannot be known
    std::string ground;
};

std::string years_words(int years) {
    return years == 1 ? "1 year" : fmt::format("{} years", years);
}

std::optional<Date> years_on(const std::optional<Date>& from, int years) {
    if (!from) return std::nullopt;
    return add_months(*from, 12 * years);
}

Limit limit_from_made(const Item& item, int years) {
    return {years_on(item.made, years), years_words(years) + " from the date made"};
}

Limit limit_from_first_use(const Item& item, int years) {
    if (item.first_used) return {years_on(item.first_used, years), years_words(years) + " from first use"};
    return {years_on(item.made, years),
            years_words(years) + " from the date made, as the date of first use is not recorded"};
}

LifeEnd unknown_end(const Item& item) {
    const std::string which = item.life.years_from_made ? "the date made is not recorded"
                                                        : "neither first use nor the date made is recorded";
    return {std::nullopt, LifeState::unknown_date,
            "the end of its life is unknown (" + which + ") and counts as over"};
}

}  // namespace

std::string_view name_of(LifeState state) {
    return entry_for(states, state).name;
}

LifeEnd life_end(const Item& item, Date today) {
    std::optional<Limit> first;
    bool unknown = false;
    const auto take = [&](const Limit& limit) {
        if (!limit.end) unknown = true;
        if (limit.end && (!first || *limit.end < *first->end)) first = limit;
    };
    if (item.life.years_from_made) take(limit_from_made(item, *item.life.years_from_made));
    if (item.life.years_from_first_use) take(limit_from_first_use(item, *item.life.years_from_first_use));

    // A known end that has passed settles it, whatever the unknown one may be.
    if (first && *first->end <= today)
        return {first->end, LifeState::over,
                fmt::format("its life is over since {} ({})", to_text(*first->end), first->ground)};
    if (unknown) return unknown_end(item);
    if (!first) return {std::nullopt, LifeState::no_rule, "no life limit of the maker is recorded"};
    const bool ending = *first->end <= add_months(today, life_warning_months);
    return {first->end, ending ? LifeState::ending : LifeState::running,
            fmt::format("its life ends on {} ({})", to_text(*first->end), first->ground)};
}

}  // namespace frayhold::record
