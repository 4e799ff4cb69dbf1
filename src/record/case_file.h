// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/advice_entry.h"
#include "record/check.h"
#include "record/correspondence.h"
#include "record/finding.h"
#include "record/hold.h"
#include "record/item.h"
#include "record/journal_entry.h"
#include "record/photo_entry.h"
#include "record/photo_marks.h"
#include "record/verdict.h"

namespace frayhold::record {

// An earlier hold of the same item and how it ended.
struct EarlierHold {
    Hold hold;
    std::vector<Finding> findings;
    std::optional<Verdict> verdict;
    std::vector<PhotoEntry> photos = {};  // read with a case only
};

// Everything known of one hold: what the pack prints, the letter asks from and the faces show. In each list
// the oldest entry stands first.
struct CaseFile {
    Item item;
    Hold hold;
    std::vector<Finding> findings;
    std::vector<PhotoEntry> photos;
    std::vector<PhotoMarks> marks;  // the newest set of each photo that has one
    std::vector<WaivedView> waived;
    std::vector<Query> queries;
    std::vector<Reply> replies;
    std::optional<Verdict> verdict;
    std::vector<EarlierHold> earlier;
    std::vector<ItemCheck> checks;      // of the item, done before the hold was opened
    std::vector<JournalEntry> journal;  // entries about this hold
    // The hash of the last entry of the whole journal: on paper, it proves that nothing before it was changed
    // since.
    std::string journal_head;

    // The last answer a person entered; empty where there is none.
    [[nodiscard]] std::optional<AnswerEntry> makers_answer() const;

    // Advice on findings, then on photos, each criterion with each outcome once; lines without a criterion
    // only where no other is left.
    [[nodiscard]] std::vector<AdviceEntry> all_advice() const;
};

}  // namespace frayhold::record
