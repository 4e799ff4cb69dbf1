// SPDX-License-Identifier: Apache-2.0
// The maker's book.
#include "store/makers.h"

#include "desk/case_pack.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "post/mailbox.h"
#include "record/json.h"
#include "record/text.h"
#include "units/error.h"

namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

void check_maker(const record::Maker& maker) {
    need_words(tr("maker"), maker.name, tr("give the name that stands in the register"));
    need_plain_text(tr("note"), maker.note);
    if (maker.addresses.empty())
        throw Failure(Fault::input, tr("address"), "there is none", "give at least one");
    for (const std::string& address : maker.addresses) (void)post::parse_mailbox(address, tr("address"));
    need_words(tr("language"), maker.language, tr("give the language of the letters, such as en"));
    constexpr std::int64_t least_limit_bytes = 1'000'000;
    if (maker.mail_limit_bytes && *maker.mail_limit_bytes < least_limit_bytes)
        throw Failure(Fault::input, tr("mail limit"), "it is below 1 MB",
                      "give what a mail to them may weigh");
    if (maker.reply_days && (*maker.reply_days < 1 || *maker.reply_days > most_reply_days))
        throw Failure(Fault::input, tr("days to reply"), trf("{} is out of range", *maker.reply_days),
                      trf("give 1 to {} days", most_reply_days));
}

}  // namespace

record::Maker Desk::add_maker(const record::Maker& maker) {
    inside_->need_person();
    check_maker(maker);
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    if (store::find_maker(inside_->database(), maker.name))
        throw Failure(Fault::refused, trf("maker {}", maker.name), "there is an entry already",
                      "change that one");
    store::insert_maker(inside_->database(), maker);
    inside_->tell_journal(inside_->now(), "maker.add", maker.name, record::as_json(maker));
    transaction.commit();
    return maker;
}

record::Maker Desk::edit_maker(const std::string& name, const std::function<void(record::Maker&)>& change) {
    inside_->need_person();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::Maker changed = maker(name);
    change(changed);
    changed.name = name;
    check_maker(changed);
    store::update_maker(inside_->database(), changed);
    inside_->tell_journal(inside_->now(), "maker.edit", name, record::as_json(changed));
    transaction.commit();
    return changed;
}

record::Maker Desk::maker(const std::string& name) const {
    if (std::optional<record::Maker> found = store::find_maker(inside_->database(), name))
        return *std::move(found);
    throw Failure(Fault::input, trf("maker {}", record::as_plain_text(name)), "there is no such entry",
                  "look up its name in the list of makers");
}

std::vector<record::Maker> Desk::makers() const {
    return store::all_makers(inside_->database());
}

std::optional<record::Maker> Desk::maker_of(const std::string& hold) const {
    return store::find_maker(inside_->database(), inside_->case_file(hold).item.maker);
}

}  // namespace frayhold::desk
