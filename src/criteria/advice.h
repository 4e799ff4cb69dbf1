// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "criteria/finding.h"
#include "criteria/table.h"
#include "gauge/reading.h"
#include "language/later.h"

namespace frayhold::criteria {

// Goes with every advice a person sees; tr_word shows it.
inline constexpr std::string_view caution =
    tr_later("The maker's instructions, local law and a competent person come first.");

// The item the advice is about, as far as the tables need to know it.
struct About {
    Subject subject = Subject::rope;
    std::string maker;  // empty where unknown
    std::string model;
    bool maker_can_be_asked = true;
};

// What one criterion says. Never says that an item is fit. Its texts are kept in the record and so in
// English: tr_recorded shows source and words, because_words shows because.
struct Advice {
    std::string criterion;  // its name in the table; empty for the closing line when nothing is met
    Outcome outcome = Outcome::no_criterion_met;
    // That the true value lies beyond the limit (JCGM 106:2012, 7); 1 for a hand finding. For the closing
    // line the highest probability among the criteria looked at, empty where none could be.
    std::optional<double> probability;
    std::string source;  // standard and clause, or "common practice"
    std::string words;   // what to do and why
    // "fray_width / sound_width 1.62 ± 0.05, limit 1.50"; "Melted fibres, 3.2 m, left side"
    std::string because;
    // The reading is in the guard band, or its probability neither nearly 0 nor nearly 1.
    bool borderline = false;
    bool second_view = false;  // the criterion asks for a further view of the damage
};

// Weighs readings and findings against the criteria for the item.
//
// A reading y ± u against limit T with guard band w = guard_band x U (JCGM 106:2012, 8.3.2; for a limit from
// below all signs turn):
//   y <= T - w          not met; listed only where borderline
//   T - w < y <= T      hold_and_ask, borderline: within what the reading can tell
//   T < y               the criterion's outcome; borderline while the probability is not nearly 1
// Where a quantity was read several times, the reading with the highest probability counts. A criterion whose
// quantity was not read and whose findings were not entered says nothing. A finding that no criterion for the
// item asks for gives hold_and_ask.
//
// The result is never empty: most severe first, then by probability; where no criterion is met it ends in one
// line 'no criterion met: the competent person decides'. Throws Failure (Fault::input) for a finding no table
// knows.
[[nodiscard]] std::vector<Advice> advise(std::span<const gauge::Reading> readings,
                                         std::span<const HandFinding> findings, const Table& table,
                                         const About& about);

// An advice's `because` in the language in force: "fray width / sound width 1.62 ± 0.05, limit 1.50".
[[nodiscard]] std::string because_words(std::string_view because);

// The quantity that a reading's `because` begins with, in English as it may be kept: "fray width". tr_word
// shows it.
[[nodiscard]] std::string measured_quantity(std::string_view because);

}  // namespace frayhold::criteria
