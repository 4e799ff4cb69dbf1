// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "record/finding.h"
#include "record/item.h"
#include "units/date.h"
#include "units/error.h"

// A check: an item looked over and felt along at regular times, by hand and eye, with a person's result at
// its end. The result is that person's own word: the program never says that an item is fit.
namespace frayhold::record {

// In the order in which a practised person works. Common practice, no source.
enum class CheckStep { label_and_identity, stitching, one_side, other_side, every_metre, fittings };

enum class CheckState { waiting, begun, paused, done, left_out };

enum class CheckResult { keep, keep_and_watch, hold, retire };

// A length of rope that was looked at and felt, in mm from the marked end.
struct Stretch {
    double from_mm = 0.0;
    double to_mm = 0.0;

    bool operator==(const Stretch&) const = default;
};

struct StepDone {
    CheckStep step = CheckStep::label_and_identity;
    std::string words;
    std::string done_by;
    Time done{};

    bool operator==(const StepDone&) const = default;
};

struct CheckPause {
    Time paused{};
    std::string paused_by;
    std::optional<Time> resumed;
    std::string resumed_by;

    bool operator==(const CheckPause&) const = default;
};

// The check of one item within a round.
struct ItemCheck {
    std::string round;  // number of the round it belongs to
    int turn = 0;       // its place in the round: 1, 2, 3, …
    std::string item;   // mark
    CheckState state = CheckState::waiting;
    std::optional<Time> begun;
    std::string begun_by;
    std::vector<StepDone> steps;
    std::vector<Stretch> felt;  // in the order they were felt; they may overlap
    std::vector<CheckPause> pauses;
    std::vector<Finding> findings;  // numbered within the check; their `hold` is empty
    std::optional<CheckResult> result;
    std::string words;                 // of the person who gave the result
    std::vector<std::string> against;  // what spoke against it, shown wherever it is shown
    std::optional<Time> done;
    std::string done_by;
    std::optional<Date> next_due;
    std::string hold;  // opened by the result

    bool operator==(const ItemCheck&) const = default;
};

// A walk through a kit, a place or the whole store.
struct CheckRound {
    std::string number;  // "R-2026-0001": the year it was started and its turn in that year
    std::string kit;     // both empty: the whole store
    std::string place;
    std::optional<Date> due_by;  // only items due by then
    std::string started_by;
    Time started{};
    std::optional<Time> ended;
    std::string ended_by;

    bool operator==(const CheckRound&) const = default;
};

[[nodiscard]] std::string_view name_of(CheckStep step);
[[nodiscard]] std::string_view name_of(CheckState state);
[[nodiscard]] std::string_view name_of(CheckResult result);
[[nodiscard]] std::optional<CheckStep> check_step_named(std::string_view name);
[[nodiscard]] std::optional<CheckState> check_state_named(std::string_view name);
[[nodiscard]] std::optional<CheckResult> check_result_named(std::string_view name);
// What to do at the step: "Feel the stitching: …".
[[nodiscard]] std::string words_for(CheckStep step);
[[nodiscard]] std::string words_for(CheckState state);
[[nodiscard]] std::string words_for(CheckResult result);
[[nodiscard]] const std::vector<CheckStep>& all_check_steps();
[[nodiscard]] const std::vector<CheckState>& all_check_states();
[[nodiscard]] const std::vector<CheckResult>& all_check_results();

// "R-2026-0001" from 2026 and 1; more digits after 9999.
[[nodiscard]] std::string round_number(int year, int turn);
// "kit climbing kit 2", "place Lower Ashmeer", "the whole store".
[[nodiscard]] std::string scope_words(const CheckRound& round);

// The steps a kind of item asks for, in their order.
[[nodiscard]] std::vector<CheckStep> steps_for(Kind kind);

// What of 0 to the length no stretch covers, from the marked end on.
[[nodiscard]] std::vector<Stretch> not_yet_felt(const std::vector<Stretch>& felt, Millimetres length);

// What is still to be done before a result of keep, each in words for a person; empty where all is done.
[[nodiscard]] std::vector<std::string> still_to_check(const ItemCheck& check, const Item& item);

// Time under the hands since the check began or went on after a pause; nothing while it does not run.
[[nodiscard]] std::optional<std::chrono::minutes> at_work(const ItemCheck& check, Time now);

// Fingers tire along a rope and pass over what they should feel. Common practice, no source.
inline constexpr std::chrono::minutes rest_after{20};
// "rest your hands: …" where a rest is due; empty where none is.
[[nodiscard]] std::string rest_words(const ItemCheck& check, const Item& item, Time now);

// The months between two checks where the user has set nothing: once a year (EN 365:2004, 4.4, from memory),
// twice in heavy use (common practice, no source). Local law or the maker may ask for more: that is the
// user's to set.
[[nodiscard]] int usual_check_months(UseRate use);

// Before every day: the next check of an item that was never checked.
inline constexpr Date due_at_once{std::chrono::year(1), std::chrono::January, std::chrono::day(1)};

// May this person's result stand? Gives what spoke against it, to be kept (kept_words). Refused
// (Fault::refused):
// - keep: with a step left out, with any finding of this check, or with a life that is over;
// - keep and watch: with a step left out, with a finding that meets a retire criterion, with a life that is
//   over, or without words on what to watch; other findings are what spoke against it;
// - hold or retire: without words or a finding that says why.
[[nodiscard]] Result<std::vector<std::string>> check_result(const ItemCheck& check, const Item& item,
                                                            CheckResult result, const std::string& words,
                                                            Date today);

// What the hold that a result opens says: the person's words and the findings, to be kept (kept_words).
[[nodiscard]] std::string seen_words(const ItemCheck& check, const std::string& words);

}  // namespace frayhold::record
