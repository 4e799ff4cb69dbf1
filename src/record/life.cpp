// SPDX-License-Identifier: Apache-2.0
#include "record/life.h"

#include <array>
#include <vector>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array life_states{
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
    return trn("{} year", "{} years", years);
}

std::optional<Date> years_on(const std::optional<Date>& from, int years) {
    if (!from) return std::nullopt;
    return add_months(*from, 12 * years);
}

Limit limit_from_made(const Item& item, int years) {
    return {years_on(item.made, years), trf("{} from the date made", years_words(years))};
}

Limit limit_from_first_use(const Item& item, int years) {
    if (item.first_used)
        return {years_on(item.first_used, years), trf("{} from first use", years_words(years))};
    return {years_on(item.made, years),
            trf("{} from the date made, as the date of first use is not recorded", years_words(years))};
}

// The limits of the item's rule, each with its end where that is known.
std::vector<Limit> limits_of(const Item& item) {
    std::vector<Limit> limits;
    if (item.life.years_from_made) limits.push_back(limit_from_made(item, *item.life.years_from_made));
    if (item.life.years_from_first_use)
        limits.push_back(limit_from_first_use(item, *item.life.years_from_first_use));
    return limits;
}

LifeEnd unknown_end(const Item& item) {
    return {std::nullopt, LifeState::unknown_date,
            item.life.years_from_made
                ? tr("the end of its life is unknown (the date made is not recorded) and counts as over")
                : tr("the end of its life is unknown (neither first use nor the date made is recorded) and "
                     "counts as over")};
}

}  // namespace

std::string_view name_of(LifeState state) {
    return entry_for(life_states, state).name;
}

LifeDates life_dates(const Item& item) {
    LifeDates dates;
    for (const Limit& limit : limits_of(item)) {
        if (!limit.end) dates.unknown = true;
        if (limit.end && (!dates.over_from || *limit.end < *dates.over_from)) dates.over_from = limit.end;
    }
    return dates;
}

LifeRule shorter_life(LifeRule own, const LifeRule& makers) {
    bool decided = false;
    const auto take = [&](std::optional<int>& years, const std::optional<int>& other) {
        if (!other || (years && *years <= *other)) return;
        years = other;
        decided = true;
    };
    take(own.years_from_made, makers.years_from_made);
    take(own.years_from_first_use, makers.years_from_first_use);
    if (decided) own.source = makers.source;
    return own;
}

LifeEnd life_end(const Item& item, Date today) {
    std::optional<Limit> first;
    bool unknown = false;
    for (const Limit& limit : limits_of(item)) {
        if (!limit.end) unknown = true;
        if (limit.end && (!first || *limit.end < *first->end)) first = limit;
    }

    // A known end that has passed settles it, whatever the unknown one may be.
    if (first && *first->end <= today)
        return {first->end, LifeState::over,
                trf("its life is over since {} ({})", to_text(*first->end), first->ground)};
    if (unknown) return unknown_end(item);
    if (!first) return {std::nullopt, LifeState::no_rule, tr("no life limit of the maker is recorded")};
    const bool ending = *first->end <= add_months(today, life_warning_months);
    return {first->end, ending ? LifeState::ending : LifeState::running,
            trf("its life ends on {} ({})", to_text(*first->end), first->ground)};
}

}  // namespace frayhold::record
