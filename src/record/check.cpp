// SPDX-License-Identifier: Apache-2.0
#include "record/check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "language/tr.h"
#include "record/life.h"
#include "record/named.h"
#include "record/text.h"

namespace frayhold::record {
namespace {

constexpr std::array steps{
    Named<CheckStep>{
        CheckStep::label_and_identity, "label_and_identity",
        tr_later("Label and identity: read mark, serial and maker; they are those of the record")},
    Named<CheckStep>{
        CheckStep::stitching, "stitching",
        tr_later(
            "Stitching and ends: look at every row and bar tack, pull gently, no thread broken or worn")},
    Named<CheckStep>{CheckStep::one_side, "one_side",
                     tr_later("One side all along: bend it over the finger, look and feel from end to end")},
    Named<CheckStep>{CheckStep::other_side, "other_side",
                     tr_later("The other side all along, edges too, and under every sleeve and loop")},
    Named<CheckStep>{CheckStep::every_metre, "every_metre",
                     tr_later("Every metre looked at and felt: small bends through the fingers, all round")},
    Named<CheckStep>{
        CheckStep::fittings, "fittings",
        tr_later("Fittings: buckles, rings and connectors move, close and lock; no crack, burr or rust")},
};

constexpr std::array states{
    Named<CheckState>{CheckState::waiting, "waiting", tr_later("waiting")},
    Named<CheckState>{CheckState::begun, "begun", tr_later("begun")},
    Named<CheckState>{CheckState::paused, "paused", tr_later("paused")},
    Named<CheckState>{CheckState::done, "done", tr_later("done")},
    Named<CheckState>{CheckState::left_out, "left_out", tr_later("not checked")},
};

constexpr std::array results{
    Named<CheckResult>{CheckResult::keep, "keep", tr_later("keep")},
    Named<CheckResult>{CheckResult::keep_and_watch, "keep_and_watch", tr_later("keep and watch")},
    Named<CheckResult>{CheckResult::hold, "hold", tr_later("hold")},
    Named<CheckResult>{CheckResult::retire, "retire", tr_later("retire")},
};

tl::unexpected<Error> refused(const ItemCheck& check, std::string what, std::string mend) {
    return failed(Fault::refused, trf("check of {}", check.item), std::move(what), std::move(mend));
}

std::string stretch_words(const Stretch& stretch) {
    return trf("{} to {}", length_words(Millimetres(stretch.from_mm)),
               length_words(Millimetres(stretch.to_mm)));
}

bool is_done(const ItemCheck& check, CheckStep step) {
    return std::any_of(check.steps.begin(), check.steps.end(),
                       [&](const StepDone& done) { return done.step == step; });
}

bool asks_to_retire(const Finding& finding) {
    return std::any_of(finding.advice.begin(), finding.advice.end(),
                       [](const AdviceEntry& advice) { return advice.outcome == criteria::Outcome::retire; });
}

std::string finding_words(const Finding& finding) {
    std::string words = tr_word(finding.kind_words);
    if (finding.station)
        // Translators: before ": " and a length, where along a rope something was found.
        words = kept_words(words, kept_words(tr("from the marked end"), length_words(*finding.station)));
    for (const std::string* own : {&finding.side, &finding.words})
        if (!own->empty()) words = kept_words(words, *own);
    return words;
}

Result<void> nothing_left(const ItemCheck& check, const Item& item) {
    const std::vector<std::string> left = still_to_check(check, item);
    if (left.empty()) return {};
    return refused(check, trf("it is not finished: {}", left.front()),
                   "do it, or pause the check and go on later");
}

}  // namespace

std::string_view name_of(CheckStep step) {
    return entry_for(steps, step).name;
}
std::string_view name_of(CheckState state) {
    return entry_for(states, state).name;
}
std::string_view name_of(CheckResult result) {
    return entry_for(results, result).name;
}
std::optional<CheckStep> check_step_named(std::string_view name) {
    return value_named(steps, name);
}
std::optional<CheckState> check_state_named(std::string_view name) {
    return value_named(states, name);
}
std::optional<CheckResult> check_result_named(std::string_view name) {
    return value_named(results, name);
}
std::string words_for(CheckStep step) {
    return tr_word(entry_for(steps, step).words);
}
std::string words_for(CheckState state) {
    return tr_word(entry_for(states, state).words);
}
std::string words_for(CheckResult result) {
    return tr_word(entry_for(results, result).words);
}

const std::vector<CheckStep>& all_check_steps() {
    static const std::vector<CheckStep> all = values_of(steps);
    return all;
}
const std::vector<CheckState>& all_check_states() {
    static const std::vector<CheckState> all = values_of(states);
    return all;
}
const std::vector<CheckResult>& all_check_results() {
    static const std::vector<CheckResult> all = values_of(results);
    return all;
}

std::string round_number(int year, int turn) {
    return fmt::format("R-{}-{:04}", year, turn);
}

std::string scope_words(const CheckRound& round) {
    if (!round.kit.empty()) return trf("kit {}", round.kit);
    if (!round.place.empty()) return trf("place {}", round.place);
    return tr("the whole store");
}

std::vector<CheckStep> steps_for(Kind kind) {
    if (can_be_cut(kind))
        return {CheckStep::label_and_identity, CheckStep::stitching, CheckStep::every_metre};
    std::vector<CheckStep> asked{CheckStep::label_and_identity, CheckStep::stitching, CheckStep::one_side,
                                 CheckStep::other_side};
    if (kind == Kind::harness || kind == Kind::lanyard || kind == Kind::cows_tail)
        asked.push_back(CheckStep::fittings);
    return asked;
}

std::vector<Stretch> not_yet_felt(const std::vector<Stretch>& felt, Millimetres length) {
    std::vector<Stretch> sorted = felt;
    std::sort(sorted.begin(), sorted.end(),
              [](const Stretch& a, const Stretch& b) { return a.from_mm < b.from_mm; });
    std::vector<Stretch> open;
    double reached_mm = 0.0;
    for (const Stretch& stretch : sorted) {
        if (stretch.from_mm > reached_mm)
            open.push_back({reached_mm, std::min(stretch.from_mm, length.value())});
        reached_mm = std::max(reached_mm, stretch.to_mm);
        if (reached_mm >= length.value()) break;
    }
    if (reached_mm < length.value()) open.push_back({reached_mm, length.value()});
    return open;
}

std::vector<std::string> still_to_check(const ItemCheck& check, const Item& item) {
    std::vector<std::string> left;
    for (const CheckStep step : steps_for(item.kind)) {
        if (step != CheckStep::every_metre) {
            if (!is_done(check, step)) left.push_back(words_for(step));
        } else if (!item.length) {
            left.push_back(
                tr("the length is not recorded, so nobody can say that every metre was felt: measure "
                   "it and record it with the item"));
        } else {
            for (const Stretch& open : not_yet_felt(check.felt, *item.length))
                left.push_back(trf("look at and feel {}", stretch_words(open)));
        }
    }
    return left;
}

std::optional<std::chrono::minutes> at_work(const ItemCheck& check, Time now) {
    if (check.state != CheckState::begun || !check.begun) return std::nullopt;
    Time since = *check.begun;
    for (const CheckPause& pause : check.pauses)
        if (pause.resumed) since = std::max(since, *pause.resumed);
    return std::chrono::floor<std::chrono::minutes>(now - since);
}

std::string rest_words(const ItemCheck& check, const Item& item, Time now) {
    const std::optional<std::chrono::minutes> worked = at_work(check, now);
    if (!can_be_cut(item.kind) || !worked || *worked < rest_after) return "";
    return trf("rest your hands: {} minutes along the rope without a pause, and tired fingers miss things",
               worked->count());
}

int usual_check_months(UseRate use) {
    return use == UseRate::heavy ? 6 : 12;
}

Result<std::vector<std::string>> check_result(const ItemCheck& check, const Item& item, CheckResult result,
                                              const std::string& words, Date today) {
    std::vector<std::string> against;
    if (result == CheckResult::hold || result == CheckResult::retire) {
        if (is_blank(words) && check.findings.empty())
            return refused(check, "nothing says why", "record a finding, or say why in words");
        return against;
    }
    if (const Result<void> done = nothing_left(check, item); !done) return tl::make_unexpected(done.error());
    if (const LifeEnd life = life_end(item, today); life.counts_as_over())
        return refused(check, life.words, "put it on hold: a competent person decides");
    if (result == CheckResult::keep) {
        if (!check.findings.empty())
            return refused(check, trf("something was found: {}", finding_words(check.findings.front())),
                           "hold it, or keep and watch it and say what to watch");
        return against;
    }
    for (const Finding& finding : check.findings) {
        if (asks_to_retire(finding))
            return refused(check, trf("a retire criterion is met: {}", finding_words(finding)),
                           "put it on hold: a competent person decides");
        against.push_back(finding_words(finding));
    }
    if (is_blank(words)) return refused(check, "it is not said what to watch", "say it in words");
    return against;
}

std::string seen_words(const ItemCheck& check, const std::string& words) {
    // Translators: before ": ", the number of a round of checks, ": " and what was found.
    std::string seen = kept_words(tr("Found at a check"), check.round);
    if (!is_blank(words)) seen = kept_words(seen, trimmed(words));
    for (const Finding& finding : check.findings) seen = kept_words(seen, finding_words(finding));
    return seen;
}

}  // namespace frayhold::record
