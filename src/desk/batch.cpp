// SPDX-License-Identifier: Apache-2.0
#include "desk/inside.h"
#include "language/tr.h"
#include "record/text.h"
#include "store/items.h"

// A maker's notice about a batch: which items it speaks of, and holding them all at once.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

enum class Reach { out, in, unknown };

// The same words, whatever their case and spacing: a maker's name may be typed in several ways.
bool same(const std::string& a, const std::string& b) {
    return record::search_words(a) == record::search_words(b);
}

Reach reach_by_date(const BatchNotice& notice, const record::Item& item) {
    if (!notice.made_from && !notice.made_to) return Reach::unknown;
    if (!item.made) return Reach::unknown;
    const bool before = notice.made_from && *item.made < *notice.made_from;
    const bool after = notice.made_to && *item.made > *notice.made_to;
    return before || after ? Reach::out : Reach::in;
}

// A recorded batch decides where the notice names one; else the date made; what cannot be decided is unknown.
Reach reach_of(const BatchNotice& notice, const record::Item& item) {
    const bool names_batch = !record::is_blank(notice.batch);
    if (names_batch && !record::is_blank(item.batch))
        return same(notice.batch, item.batch) ? Reach::in : Reach::out;
    if (!names_batch && !notice.made_from && !notice.made_to) return Reach::in;
    return reach_by_date(notice, item);
}

void check(const BatchNotice& notice) {
    need_words(tr("maker"), notice.maker, tr("name the maker the notice comes from"));
    need_words(tr("model"), notice.model, tr("name the model the notice speaks of"));
    need_plain_text(tr("batch"), notice.batch);
    if (notice.made_from && notice.made_to && *notice.made_to < *notice.made_from)
        throw Failure(Fault::input, tr("dates made"), "the last date lies before the first",
                      "give the earlier date first");
}

BatchPlan plan_for(const store::Database& database, const BatchNotice& notice) {
    check(notice);
    BatchPlan plan;
    store::ItemSearch search;
    search.text = notice.maker + " " + notice.model;
    for (const record::Item& item : store::search_items(database, search)) {
        if (!same(item.maker, notice.maker) || !same(item.model, notice.model)) continue;
        const Reach reach = reach_of(notice, item);
        if (reach == Reach::out) continue;
        switch (item.status) {
            case record::ItemStatus::on_hold:
                plan.already_held.push_back(item);
                break;
            case record::ItemStatus::retired:
            case record::ItemStatus::sent_to_maker:
                plan.out_of_service.push_back(item);
                break;
            case record::ItemStatus::in_service:
            case record::ItemStatus::in_service_with_limit:
                plan.to_hold.push_back(item);
                if (reach == Reach::unknown) plan.taken_in_unknown.push_back(item);
        }
    }
    return plan;
}

nlohmann::ordered_json details_of(const BatchNotice& notice, const BatchPlan& plan) {
    nlohmann::ordered_json out{{"notice", notice.words}, {"maker", notice.maker}, {"model", notice.model}};
    if (!notice.batch.empty()) out["batch"] = notice.batch;
    if (notice.made_from) out["made_from"] = to_text(*notice.made_from);
    if (notice.made_to) out["made_to"] = to_text(*notice.made_to);
    out["opened"] = nlohmann::ordered_json::array();
    for (const record::Hold& hold : plan.opened) out["opened"].push_back(hold.number);
    return out;
}

}  // namespace

BatchPlan Desk::preview_batch_hold(const BatchNotice& notice) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return plan_for(inside_->database(), notice);
}

BatchPlan Desk::batch_hold(const BatchNotice& notice) {
    inside_->need_person();
    need_words(tr("the notice"), notice.words, tr("say which notice it is and what it says"));
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    BatchPlan plan = plan_for(inside_->database(), notice);
    const std::string note = record::trimmed(notice.words);
    for (const record::Item& item : plan.to_hold)
        plan.opened.push_back(inside_->open_hold(item, note, note, now));
    inside_->tell_journal(now, "batch.hold", notice.maker + " " + notice.model, details_of(notice, plan));
    transaction.commit();
    return plan;
}

}  // namespace frayhold::desk
