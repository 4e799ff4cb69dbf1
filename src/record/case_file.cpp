// SPDX-License-Identifier: Apache-2.0
#include "record/case_file.h"

#include <algorithm>

namespace frayhold::record {

std::optional<AnswerEntry> CaseFile::makers_answer() const {
    std::optional<AnswerEntry> last;
    for (const Reply& reply : replies)
        if (reply.answer && (!last || reply.answer->entered >= last->entered)) last = reply.answer;
    return last;
}

std::vector<AdviceEntry> CaseFile::all_advice() const {
    std::vector<AdviceEntry> met;
    std::vector<AdviceEntry> closing;
    const auto take = [&](const AdviceEntry& advice) {
        std::vector<AdviceEntry>& list = advice.criterion.empty() ? closing : met;
        const bool known = std::any_of(list.begin(), list.end(), [&](const AdviceEntry& other) {
            return other.criterion == advice.criterion && other.outcome == advice.outcome;
        });
        if (!known) list.push_back(advice);
    };
    for (const Finding& finding : findings)
        for (const AdviceEntry& advice : finding.advice) take(advice);
    for (const PhotoEntry& photo : photos)
        for (const AdviceEntry& advice : photo.advice) take(advice);
    return met.empty() ? closing : met;
}

}  // namespace frayhold::record
