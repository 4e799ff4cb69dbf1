// SPDX-License-Identifier: Apache-2.0
#include "desk/inside.h"

#include <chrono>

#include "language/tr.h"
#include "record/rules.h"
#include "record/text.h"
#include "store/case_file.h"
#include "store/holds.h"
#include "store/items.h"
#include "store/journal.h"
#include "store/known_blobs.h"
#include "units/error.h"

namespace frayhold::desk {
namespace {

Time time_of(const std::function<Time()>& clock) {
    return clock ? clock() : std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
}

store::Store::Options options_for(const Setup& setup) {
    store::Store::Options options;
    options.may_create = !record::is_blank(setup.who);
    if (setup.files) options.files = setup.files;
    return options;
}

}  // namespace

Desk::Inside::Inside(Setup given)
    : setup(std::move(given)), store(setup.store, time_of(setup.clock), options_for(setup)) {}

Time Desk::Inside::now() const {
    return time_of(setup.clock);
}

void Desk::Inside::need_person() const {
    if (record::is_blank(setup.who))
        throw Failure(Fault::usage, "", "nobody is named for the journal", "say who you are");
    need_plain_text(tr("your name"), setup.who);
}

record::Item Desk::Inside::item(const std::string& mark) const {
    if (std::optional<record::Item> found = store::find_item(store.database(), mark))
        return *std::move(found);
    throw Failure(Fault::input, trf("item {}", record::as_plain_text(mark)),
                  "there is no such item in the register", "look up its mark in the list of items");
}

record::CaseFile Desk::Inside::case_file(const std::string& hold) const {
    if (std::optional<record::CaseFile> found = store::case_file(store.database(), hold))
        return *std::move(found);
    throw Failure(Fault::input, trf("hold {}", record::as_plain_text(hold)), "there is no such hold",
                  "look up its number in the list of holds");
}

void Desk::Inside::tell_journal(Time time, const std::string& action, const std::string& subject,
                                const nlohmann::ordered_json& details) {
    record::JournalEntry entry;
    entry.time = time;
    entry.who = setup.who;
    entry.action = action;
    entry.subject = subject;
    entry.details = details.dump();
    store::append_journal(database(), std::move(entry));
}

std::string Desk::Inside::keep(std::span<const std::byte> bytes, Time time) {
    std::string sha256 = store.blobs().keep(bytes);
    store::know_blob(database(), sha256, static_cast<std::int64_t>(bytes.size()), time);
    return sha256;
}

void Desk::Inside::move_hold(record::Hold& hold, record::HoldState to) {
    if (!record::may_move(hold.state, to))
        throw Failure(
            Fault::refused, trf("hold {}", hold.number),
            trf("it is {} and cannot become {}", record::words_for(hold.state), record::words_for(to)),
            "look at the hold again");
    store::set_hold_state(database(), hold.number, to);
    hold.state = to;
}

record::Hold Desk::Inside::open_hold(record::Item item, const std::string& seen,
                                     const std::string& batch_note, Time time) {
    if (const Result<void> may = record::may_open_hold(item); !may) {
        Error error = may.error();
        if (const std::optional<record::Hold> running = store::running_hold(database(), item.mark))
            error.what = tr_word(error.what) + " (" + running->number + ")";
        throw Failure(std::move(error));
    }
    record::Hold hold;
    hold.item = item.mark;
    hold.seen = record::trimmed(seen);
    hold.opened_by = setup.who;
    hold.opened = time;
    hold.batch_note = batch_note;
    hold = store::insert_hold(database(), std::move(hold));

    nlohmann::ordered_json details{
        {"item", item.mark}, {"seen", hold.seen}, {"status_before", name_of(item.status)}};
    if (!item.limit.empty()) details["limit_before"] = item.limit;
    if (!batch_note.empty()) details["batch_note"] = batch_note;
    item.status = record::ItemStatus::on_hold;
    item.limit.clear();
    store::update_item(database(), item);
    tell_journal(time, "hold.open", hold.number, details);
    return hold;
}

void Desk::Inside::move_by_evidence(const std::string& number, Time time) {
    record::CaseFile file = case_file(number);
    if (file.hold.state == record::HoldState::open) move_hold(file.hold, record::HoldState::evidence);
    if (file.hold.state != record::HoldState::evidence || !record::may_become_ready(file)) return;
    move_hold(file.hold, record::HoldState::ready);
    tell_journal(time, "hold.ready", number, {{"because", tr_later("the evidence list is complete")}});
}

void need_allowed(const Result<void>& rule) {
    if (!rule) throw Failure(rule.error());
}

void need_plain_text(const std::string& field, const std::string& text) {
    if (record::is_plain_text(text)) return;
    throw Failure(Fault::input, field, "the text is not UTF-8", "type it again");
}

void need_words(const std::string& field, const std::string& text, const std::string& mend) {
    need_plain_text(field, text);
    if (record::is_blank(text)) throw Failure(Fault::input, field, "nothing is written here", mend);
}

}  // namespace frayhold::desk
