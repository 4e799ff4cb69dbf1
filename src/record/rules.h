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

// A hold may be opened on an item that is in service, has a limit, or is back from the maker.
[[nodiscard]] Result<void> may_open_hold(const Item& item);

// Findings, photos and waived views: until the verdict.
[[nodiscard]] Result<void> may_add_evidence(const CaseFile& file);

// To 'ready': the evidence list is complete.
[[nodiscard]] Result<void> may_become_ready(const CaseFile& file);

// A query is made and sent from 'ready' on, until the verdict.
[[nodiscard]] Result<void> may_ask(const CaseFile& file);

// The maker's answer is entered from 'asked' on, until the verdict.
[[nodiscard]] Result<void> may_enter_answer(const CaseFile& file, const AnswerEntry& answer);

// Why the item should not come back, in words: each retire criterion met and a life that is over.
[[nodiscard]] std::vector<std::string> retire_grounds(const CaseFile& file, Date today);

// Every rule the verdict goes against, in words; empty where it goes against none.
// - returning (with or without a limit) or keeping parts: without the maker's answer, against it, with
// evidence
//   missing, or where a retire ground stands (cutting out a damaged stretch answers a criterion on that
//   stretch, not a life that is over);
// - retiring before an answer where no retire ground stands.
[[nodiscard]] std::vector<std::string> rules_against(const CaseFile& file, const Verdict& verdict,
                                                     Date today);

// Checks a verdict and gives it back with `given_against` filled in.
// Refused: a second verdict on the hold; no name; a rule against it and no reason written; a limit without
// words; parts of something that is not rope or cord, without a known length, without a mark of their own,
// with a mark used twice, with lengths that do not add up, or with nothing cut out. That a part's mark is new
// to the register is for the caller to check.
[[nodiscard]] Result<Verdict> check_verdict(const CaseFile& file, Verdict verdict, Date today);

// The state of the item once the verdict is given.
[[nodiscard]] ItemStatus status_after(VerdictKind kind);

// The next thing to do on the hold, one short sentence for a person.
[[nodiscard]] std::string next_step(const CaseFile& file, Date today);

}  // namespace frayhold::record
