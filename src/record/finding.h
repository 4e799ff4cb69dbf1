// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"
#include "units/quantity.h"

namespace frayhold::record {

// What a hand felt or an eye saw, as far as a camera cannot tell it.
enum class FindingKind {
    stiff,
    gritty,
    flat,
    lump,
    soft,
    sticky,
    glazed,
    melted,
    core_seen,
    sheath_cut,
    sheath_slipped,
    fray,
    edge_nick,
    broken_stitch,
    contaminated,
    marked_with_solvent,
    knot_stuck,
    sleeve_holed,
    label_unreadable,
    shock_load,
    other,
};

// A finding by hand on one hold. Never altered once recorded: a wrong one is answered by a further finding.
struct Finding {
    int number = 0;    // 1, 2, 3, … within its hold; given by the store
    std::string hold;  // number of the hold it belongs to
    FindingKind kind = FindingKind::other;
    std::optional<Millimetres> station;  // along the item from its marked end
    std::string side;                    // in the person's words: "label side", "both"
    std::string words;
    std::string found_by;
    Time found{};

    bool operator==(const Finding&) const = default;
};

[[nodiscard]] std::string_view name_of(FindingKind kind);
[[nodiscard]] std::optional<FindingKind> finding_kind_named(std::string_view name);
[[nodiscard]] std::string_view words_for(FindingKind kind);
[[nodiscard]] const std::vector<FindingKind>& all_finding_kinds();

}  // namespace frayhold::record
