// SPDX-License-Identifier: Apache-2.0
#include "record/advice_entry.h"

#include "language/tr.h"

namespace frayhold::record {

AdviceEntry entry_of(const criteria::Advice& advice) {
    AdviceEntry entry;
    entry.criterion = advice.criterion;
    entry.outcome = advice.outcome;
    entry.probability = advice.probability;
    entry.source = advice.source;
    entry.words = advice.words;
    entry.because = advice.because;
    entry.borderline = advice.borderline;
    entry.second_view = advice.second_view;
    return entry;
}

std::string words_for(criteria::Outcome outcome) {
    switch (outcome) {
        case criteria::Outcome::retire:
            return tr("retire");
        case criteria::Outcome::hold_and_ask:
            return tr("hold and ask");
        case criteria::Outcome::no_criterion_met:
            break;
    }
    return tr("no criterion met: the competent person decides");
}

}  // namespace frayhold::record
