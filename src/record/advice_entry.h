// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "criteria/advice.h"
#include "criteria/table.h"

namespace frayhold::record {

// What a criterion said of a photo's readings or of a finding, kept as it was given at the time. It is
// advice: the maker's instructions, local law and a competent person come first.
struct AdviceEntry {
    std::string criterion;
    criteria::Outcome outcome = criteria::Outcome::no_criterion_met;
    // That the true value exceeds the limit (JCGM 106); 1 for a hand finding.
    std::optional<double> probability;
    std::string source;        // standard and clause, or "common practice"
    std::string words;         // what to do and why, for the person
    std::string because;       // "fray_width / sound_width 1.62 ± 0.05, limit 1.50"
    bool borderline = false;   // the reading alone does not settle it
    bool second_view = false;  // the criterion asks for a further view of the damage

    bool operator==(const AdviceEntry&) const = default;
};

[[nodiscard]] AdviceEntry entry_of(const criteria::Advice& advice);

[[nodiscard]] std::string words_for(criteria::Outcome outcome);

}  // namespace frayhold::record
