// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "record/case_file.h"
#include "record/verdict.h"
#include "units/date.h"
#include "units/error.h"

// The rules of a hold. Every refusal is an Error with Fault::refused that names the hold, says why in plain
// words and what to do instead.
namespace frayhold::record {

// Whether a hold in one state may go to another: forward only, one step at a time, or from any to 'verdict'.
[[nodiscard]] bool may_move(HoldState from, HoldState to);

// A hold may be opened on an item that is in service, has a limit, or is back from the maker.
[[nodiscard]] Result<void> may_open_hold(const Item& item);

// Findings, photos and waived views: until the verdict.
[[nodiscard]] Result<void> may_add_evidence(const CaseFile& file);

// A view may be waived when it is on the evidence list and a reason is written.
[[nodiscard]] Result<void> may_waive(const CaseFile& file, PhotoRole role, const std::string& reason);

// To 'ready': the evidence list is complete.
[[nodiscard]] Result<void> may_become_ready(const CaseFile& file);

// A query is made and sent from 'ready' on, until the verdict.
[[nodiscard]] Result<void> may_ask(const CaseFile& file);

// The maker's answer is entered from 'asked' on, until the verdict, beside a reply that a person wrote. A
// limit belongs to 'fit with a limit' and to no other answer. A later entry takes the place of an earlier
// one; both stay in the journal. Errors (Fault::input): no such reply.
[[nodiscard]] Result<void> may_enter_answer(const CaseFile& file, int reply, const AnswerEntry& answer);

// A reason why the item should not come back.
struct RetireGround {
    std::string words;
    // It speaks of the whole item, so that cutting out a stretch does not answer it: a life that is over, or
    // a finding recorded without a place.
    bool whole_item = false;
};

// Each retire criterion met, and a life that is over.
[[nodiscard]] std::vector<RetireGround> retire_grounds(const CaseFile& file, Date today);

// Every rule the verdict goes against, in words that may be kept with it (kept_words); empty where it goes
// against none.
// - Returning, with or without a limit: with evidence missing, without the maker's answer or against it, or
//   where a retire ground stands.
// - Keeping parts: against the maker's answer, where a ground stands that speaks of the whole item, or
//   without the maker's answer where no retire criterion settles it.
// - Retiring: before the maker's answer where no retire ground stands.
// - Sending to the maker: none.
[[nodiscard]] std::vector<std::string> rules_against(const CaseFile& file, const Verdict& verdict,
                                                     Date today);

// Checks a verdict and gives it back with given_against filled in.
// Refused: a second verdict on the hold; no name; a rule against it and no reason written; a limit missing or
// out of place; parts of something that is not rope or cord, or whose length is not recorded, without a mark
// of their own, with a mark used twice, with lengths that do not add up, or with nothing cut out. That a
// part's mark is new to the register is for the caller to check.
[[nodiscard]] Result<Verdict> check_verdict(const CaseFile& file, Verdict verdict, Date today);

// The state of the item once the verdict is given.
[[nodiscard]] ItemStatus status_after(VerdictKind kind);

// The next thing to do on the hold: one short sentence for a person.
[[nodiscard]] std::string next_step(const CaseFile& file, Date today);

}  // namespace frayhold::record
