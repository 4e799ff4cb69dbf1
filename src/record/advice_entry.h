// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace frayhold::record {

enum class AdviceOutcome { retire, hold_and_ask, no_criterion_met };

// What a criterion said of a photo's readings or of a finding, kept as it was given at the time. It is
// advice: the maker's instructions, local law and a competent person come first.
struct AdviceEntry {
    std::string criterion;
    AdviceOutcome outcome = AdviceOutcome::no_criterion_met;
    std::optional<double>
        probability;           // that the true value exceeds the limit (JCGM 106); empty for a hand finding
    std::string source;        // standard and clause, or "common practice"
    std::string words;         // for the person
    bool second_view = false;  // the criterion asks for a further view of the damage

    bool operator==(const AdviceEntry&) const = default;
};

[[nodiscard]] std::string_view name_of(AdviceOutcome outcome);
[[nodiscard]] std::optional<AdviceOutcome> advice_outcome_named(std::string_view name);
[[nodiscard]] std::string_view words_for(AdviceOutcome outcome);

}  // namespace frayhold::record
