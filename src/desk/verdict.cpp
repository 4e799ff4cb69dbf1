// SPDX-License-Identifier: Apache-2.0
#include "desk/in_language.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "record/json.h"
#include "record/rules.h"
#include "record/text.h"
#include "store/items.h"
#include "store/verdicts.h"

// The verdict and what follows from it.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

record::Verdict verdict_from(const VerdictOrder& order, Time now) {
    record::Verdict verdict;
    verdict.kind = order.kind;
    verdict.by = record::trimmed(order.by);
    verdict.given = now;
    verdict.reason = record::trimmed(order.reason);
    verdict.limit = record::trimmed(order.limit);
    verdict.parts = order.parts;
    verdict.scrapped = order.scrapped;
    verdict.witness = record::trimmed(order.witness);
    return verdict;
}

// A part is what its parent was, but for its mark and length.
record::Item item_of(const record::Part& part, const record::Item& parent, const record::Verdict& verdict) {
    record::Item item = parent;
    item.mark = part.mark;
    item.length = part.length;
    item.parent = parent.mark;
    item.limit = verdict.limit;
    item.status =
        verdict.limit.empty() ? record::ItemStatus::in_service : record::ItemStatus::in_service_with_limit;
    return item;
}

}  // namespace

record::Verdict Desk::give_verdict(const std::string& hold, const VerdictOrder& order) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::Verdict verdict = inside_->give_verdict(hold, order, now);
    transaction.commit();
    return verdict;
}

record::Verdict Desk::Inside::give_verdict(const std::string& hold, const VerdictOrder& order, Time now) {
    need_plain_text(tr("name"), order.by);
    need_plain_text(tr("reason"), order.reason);
    need_plain_text(tr("limit"), order.limit);
    need_plain_text(tr("witness"), order.witness);
    for (const record::Part& part : order.parts) need_plain_text(tr("mark of a part"), part.mark);
    record::CaseFile file = case_file(hold);
    record::Verdict verdict =
        recorded([&] { return record::check_verdict(file, verdict_from(order, now), day_of(now)); });

    record::Item item = file.item;
    for (const record::Part& part : verdict.parts) {
        const record::Item kept = item_of(part, item, verdict);
        need_allowed(record::check_item(kept));
        if (store::find_item(database(), kept.mark))
            throw Failure(Fault::refused, trf("hold {}", hold),
                          trf("the mark {} is already in the register", kept.mark),
                          "give the part a new mark");
        store::insert_item(database(), kept);
        tell_journal(now, "item.add", kept.mark, record::as_json(kept));
    }
    store::insert_verdict(database(), hold, verdict);
    move_hold(file.hold, record::HoldState::verdict);
    item.status = record::status_after(verdict.kind);
    item.limit = item.status == record::ItemStatus::in_service_with_limit ? verdict.limit : "";
    store::update_item(database(), item);
    nlohmann::ordered_json details = record::as_json(verdict);
    details["item"] = item.mark;
    details["status"] = name_of(item.status);
    tell_journal(now, "verdict.give", hold, details);
    return verdict;
}

}  // namespace frayhold::desk
