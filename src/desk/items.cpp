// SPDX-License-Identifier: Apache-2.0
#include "store/items.h"

#include <algorithm>
#include <utility>

#include "desk/inside.h"
#include "language/tr.h"
#include "record/json.h"
#include "store/case_file.h"
#include "store/checks.h"
#include "store/journal.h"

// The register: adding, changing and finding items.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

void check(const record::Item& item) {
    const std::pair<const char*, const std::string&> texts[] = {
        {tr_later("mark"), item.mark},
        {tr_later("serial"), item.serial},
        {tr_later("maker"), item.maker},
        {tr_later("supplier"), item.supplier},
        {tr_later("model"), item.model},
        {tr_later("batch"), item.batch},
        {tr_later("standard"), item.standard},
        {tr_later("material"), item.material},
        {tr_later("sheath colour"), item.sheath_colour},
        {tr_later("core colour"), item.core_colour},
        {tr_later("place"), item.place},
        {tr_later("kit"), item.kit},
        {tr_later("user"), item.used_by},
        {tr_later("source of the life"), item.life.source},
        {tr_later("note"), item.note},
    };
    for (const auto& [field, text] : texts) need_plain_text(tr_word(field), text);
    need_allowed(record::check_item(item));
}

// Each field that changed, as it was and as it is.
nlohmann::ordered_json changes(const record::Item& before, const record::Item& after) {
    const nlohmann::ordered_json old_fields = record::as_json(before);
    const nlohmann::ordered_json new_fields = record::as_json(after);
    nlohmann::ordered_json out;
    const auto note = [&](const std::string& field) {
        const nlohmann::ordered_json was = old_fields.value(field, nlohmann::ordered_json());
        const nlohmann::ordered_json is = new_fields.value(field, nlohmann::ordered_json());
        if (was != is) out[field] = {{"was", was}, {"is", is}};
    };
    for (const auto& [field, value] : new_fields.items()) note(field);
    for (const auto& [field, value] : old_fields.items())
        if (!new_fields.contains(field)) note(field);
    return out;
}

}  // namespace

void Desk::Inside::take_makers_life(record::Item& item) const {
    if (!setup.lives) return;
    const std::optional<criteria::MakersLife> life =
        setup.lives->life_of(item.maker, item.model, record::name_of(item.kind));
    if (life)
        item.life = record::shorter_life(item.life,
                                         {life->years_from_made, life->years_from_first_use, life->source});
}

record::Item Desk::add_item(const record::Item& given) {
    inside_->need_person();
    record::Item item = given;
    item.status = record::ItemStatus::in_service;
    item.limit.clear();
    item.parent.clear();
    check(item);
    inside_->take_makers_life(item);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    if (store::find_item(inside_->database(), item.mark))
        throw Failure(Fault::input, trf("item {}", item.mark), "this mark is already in the register",
                      "give the new item another mark");
    store::insert_item(inside_->database(), item);
    inside_->tell_journal(now, "item.add", item.mark, record::as_json(item));
    transaction.commit();
    return item;
}

record::Item Desk::edit_item(const std::string& mark, const std::function<void(record::Item&)>& change) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::Item before = inside_->item(mark);
    record::Item after = before;
    change(after);
    after.mark = before.mark;
    after.status = before.status;
    after.limit = before.limit;
    after.parent = before.parent;
    check(after);
    if (after == before) return before;
    inside_->take_makers_life(after);
    store::update_item(inside_->database(), after);
    if (after.kind != before.kind || after.use != before.use)
        if (const std::optional<Date> checked = store::checked_on(inside_->database(), mark))
            store::set_checked(
                inside_->database(), mark, checked,
                add_months(*checked, store::check_months(inside_->database(), after.kind, after.use)));
    inside_->tell_journal(now, "item.edit", mark, changes(before, after));
    transaction.commit();
    return after;
}

record::Item Desk::item(const std::string& mark) const {
    return inside_->item(mark);
}

ItemHistory Desk::item_history(const std::string& mark) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    const store::Database& database = inside_->database();
    ItemHistory history;
    history.item = inside_->item(mark);
    history.life = record::life_end(history.item, today());
    history.holds = store::earlier_holds(database, mark);
    history.parts = store::parts_of(database, mark);
    history.checks = store::checks_of_item(database, mark, 0);
    if (record::is_in_service(history.item.status)) history.check_due = store::check_due(database, mark);
    const auto add_entries_about = [&](const std::string& subject) {
        for (record::JournalEntry& entry : store::search_journal(database, {.subject = subject}))
            history.journal.push_back(std::move(entry));
    };
    add_entries_about(mark);
    for (const record::EarlierHold& hold : history.holds) add_entries_about(hold.hold.number);
    for (const record::ItemCheck& check : history.checks) add_entries_about(check.round + " " + mark);
    std::sort(
        history.journal.begin(), history.journal.end(),
        [](const record::JournalEntry& a, const record::JournalEntry& b) { return a.number < b.number; });
    return history;
}

std::vector<LifeLine> Desk::ending_lives(const LifeFilter& filter) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    store::LifeSearch search;
    search.by = filter.by.value_or(add_months(today(), record::life_warning_months));
    search.limit = filter.limit;
    search.offset = filter.offset;
    std::vector<LifeLine> lines;
    for (record::Item& item : store::search_lives(inside_->database(), search)) {
        const record::LifeEnd life = record::life_end(item, today());
        lines.push_back({std::move(item), life});
    }
    return lines;
}

std::vector<DestroyedItem> Desk::destroyed_items(int limit, int offset) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return store::destroyed_items(inside_->database(), limit, offset);
}

Figures Desk::figures() const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    constexpr int years_ahead = 5;
    return store::figures(inside_->database(), today(), 12 * years_ahead);
}

std::vector<record::Item> Desk::find_items(const ItemFilter& filter) const {
    store::ItemSearch search;
    search.text = filter.text;
    search.maker = filter.maker;
    search.model = filter.model;
    search.batch = filter.batch;
    search.kit = filter.kit;
    search.place = filter.place;
    search.status = filter.status;
    search.limit = filter.limit;
    search.offset = filter.offset;
    return store::search_items(inside_->database(), search);
}

}  // namespace frayhold::desk
