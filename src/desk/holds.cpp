// SPDX-License-Identifier: Apache-2.0
#include "store/holds.h"

#include "desk/inside.h"
#include "language/tr.h"

// Opening, finding and reading holds.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

}  // namespace

record::Hold Desk::open_hold(const std::string& mark, const std::string& seen) {
    inside_->need_person();
    need_words(tr("what was seen"), seen, tr("say in words what is in doubt"));
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::Hold hold = inside_->open_hold(inside_->item(mark), seen, "", now);
    transaction.commit();
    return hold;
}

std::vector<HoldLine> Desk::find_holds(const HoldFilter& filter) const {
    store::HoldSearch search;
    search.text = filter.text;
    search.state = filter.state;
    search.running_only = filter.running_only;
    search.today = today();
    search.limit = filter.limit;
    search.offset = filter.offset;
    std::vector<HoldLine> lines;
    for (store::QueuedHold& queued : store::search_holds(inside_->database(), search)) {
        HoldLine line;
        line.hold = std::move(queued.hold);
        line.maker = std::move(queued.maker);
        line.model = std::move(queued.model);
        line.reply_due = queued.reply_due;
        line.overdue = queued.reply_due && *queued.reply_due < search.today;
        line.reply_to_read = queued.reply_to_read;
        lines.push_back(std::move(line));
    }
    return lines;
}

HoldCounts Desk::count_holds(const std::string& text) const {
    HoldCounts counts;
    for (const record::HoldState state : record::all_hold_states()) {
        const int count = store::count_holds(inside_->database(), text, state);
        counts.by_state.emplace_back(state, count);
        if (state != record::HoldState::verdict) counts.running += count;
    }
    return counts;
}

record::CaseFile Desk::case_file(const std::string& hold) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return inside_->case_file(hold);
}

}  // namespace frayhold::desk
