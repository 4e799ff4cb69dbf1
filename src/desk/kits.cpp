// SPDX-License-Identifier: Apache-2.0
#include "store/kits.h"

#include <algorithm>

#include "desk/inside.h"
#include "language/tr.h"
#include "record/text.h"
#include "store/items.h"

// Kits: what each must have in service, and whether it has.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

KitState::Line& line_for(KitState& kit, record::Kind kind) {
    const auto found = std::find_if(kit.lines.begin(), kit.lines.end(),
                                    [&](const KitState::Line& line) { return line.kind == kind; });
    if (found != kit.lines.end()) return *found;
    kit.lines.push_back({kind, 0, 0, 0});
    return kit.lines.back();
}

KitState state_of(const store::Database& database, const std::string& name) {
    KitState kit;
    kit.name = name;
    for (const store::KitNeed& need : store::kit_needs(database, name))
        line_for(kit, need.kind).needed = need.count;
    store::ItemSearch search;
    search.kit = name;
    for (record::Item& item : store::search_items(database, search)) {
        if (item.status == record::ItemStatus::retired) continue;
        KitState::Line& line = line_for(kit, item.kind);
        if (!record::is_in_service(item.status)) {
            ++line.out_of_service;
            kit.out_of_service.push_back(std::move(item));
            continue;
        }
        ++line.in_service;
        if (!item.limit.empty()) kit.limited.push_back(std::move(item));
    }
    return kit;
}

}  // namespace

void Desk::set_kit_need(const std::string& kit, record::Kind kind, int count) {
    inside_->need_person();
    need_words(tr("kit"), kit, tr("name the kit"));
    constexpr int most = 10'000;
    if (count < 0 || count > most)
        throw Failure(Fault::input, trf("kit {}", kit), trf("{} is no number of items", count),
                      "give 0 to 10000");
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    store::set_kit_need(inside_->database(), kit, kind, count);
    inside_->tell_journal(now, "kit.need", kit, {{"kind", name_of(kind)}, {"count", count}});
    transaction.commit();
}

KitState Desk::kit(const std::string& name) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    KitState kit = state_of(inside_->database(), name);
    if (kit.lines.empty())
        throw Failure(Fault::input, trf("kit {}", record::as_plain_text(name)), "no item belongs to this kit",
                      "look up its name in the list of kits");
    return kit;
}

std::vector<KitState> Desk::kits(int limit, int offset) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    std::vector<KitState> list;
    for (const std::string& name : store::kit_names(inside_->database(), limit, offset))
        list.push_back(state_of(inside_->database(), name));
    return list;
}

std::vector<std::string> Desk::kit_names(int limit) const {
    return store::kit_names(inside_->database(), limit, 0);
}

}  // namespace frayhold::desk
