// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <set>
#include <string>

#include "record/check.h"
#include "record/correspondence.h"
#include "record/device.h"
#include "record/hold.h"
#include "record/item.h"
#include "record/photo_entry.h"
#include "record/verdict.h"

namespace frayhold::record {

namespace {

// Every value has a name of its own and words of its own, and its name leads back to it.
template <class Value, class Named>
void check_names(const std::vector<Value>& values, std::size_t count, Named value_named) {
    std::set<std::string_view> names;
    std::set<std::string> words;
    for (const Value value : values) {
        names.insert(name_of(value));
        words.insert(words_for(value));
        CHECK(value_named(name_of(value)) == value);
        CHECK_FALSE(words_for(value).empty());
    }
    CHECK(names.size() == count);
    CHECK(words.size() == count);
    CHECK_FALSE(value_named("no_such_name").has_value());
    CHECK_FALSE(value_named("").has_value());
}

}  // namespace

TEST_CASE("Each name leads back to its value") {
    check_names(all_kinds(), 8, kind_named);
    check_names(all_photo_roles(), 5, photo_role_named);
    check_names(all_hold_states(), 6, hold_state_named);
    check_names(all_makers_answers(), 5, makers_answer_named);
    check_names(all_verdict_kinds(), 5, verdict_kind_named);
    check_names(all_item_statuses(), 5, item_status_named);
    check_names(all_use_rates(), 4, use_rate_named);
    check_names(all_roles(), 3, role_named);
    check_names(all_check_steps(), 6, check_step_named);
    check_names(all_check_states(), 5, check_state_named);
    check_names(all_check_results(), 4, check_result_named);
}

TEST_CASE("Hold numbers carry the year and the turn") {
    CHECK(hold_number(2026, 1) == "H-2026-0001");
    CHECK(hold_number(2026, 9999) == "H-2026-9999");
    CHECK(hold_number(2026, 12345) == "H-2026-12345");
}

}  // namespace frayhold::record
