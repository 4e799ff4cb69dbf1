// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "record/item.h"
#include "units/date.h"

namespace frayhold::record {

enum class LifeState {
    no_rule,  // the maker's life limit is not recorded
    running,
    ending,  // runs out within the warning time
    over,
    unknown_date,  // a date the rule needs is not known: counts as over
};

// When the item's life runs out. Of the two rules (from date made, from first use) the earlier end wins.
// An unknown date of first use counts as the date made, the earliest it can be; an unknown date made, where a
// rule needs it, leaves the end unknown, and an unknown end counts as over.
struct LifeEnd {
    std::optional<Date> over_from;  // first day on which the item may no longer be used
    LifeState state = LifeState::no_rule;
    std::string words;  // for a person: "its life ends on 2026-03-01 (10 years from the date made)"

    [[nodiscard]] bool counts_as_over() const {
        return state == LifeState::over || state == LifeState::unknown_date;
    }
};

inline constexpr int life_warning_months = 6;

// What of the end does not depend on the day it is asked for.
struct LifeDates {
    std::optional<Date> over_from;  // the earlier of the ends that are known
    bool unknown = false;           // a date that a rule needs is not known

    bool operator==(const LifeDates&) const = default;
};

[[nodiscard]] LifeDates life_dates(const Item& item);

// The item's rule together with what the maker's table says: of each of the two the shorter, with the table
// as source where it decides one.
[[nodiscard]] LifeRule shorter_life(LifeRule own, const LifeRule& makers);

[[nodiscard]] LifeEnd life_end(const Item& item, Date today);

[[nodiscard]] std::string_view name_of(LifeState state);

}  // namespace frayhold::record
