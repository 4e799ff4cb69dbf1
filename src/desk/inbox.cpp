// SPDX-License-Identifier: Apache-2.0
// Mails fetched from a folder, placed with their holds or left for a person.
#include "store/inbox.h"

#include <fmt/format.h>

#include "desk/inside.h"
#include "language/tr.h"
#include "photo/sha256.h"
#include "record/json.h"
#include "record/text.h"
#include "store/correspondence.h"
#include "units/error.h"

namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

// A mail as it was fetched, and what reading it gave: its words, or why it could not be read.
struct Incoming {
    const post::FetchedMail& mail;
    std::optional<ReadReply> read;
    std::string unreadable;
};

Incoming read_incoming(const post::FetchedMail& mail, const ReplyReader& read_reply) {
    Incoming incoming{mail, std::nullopt, ""};
    if (mail.bytes.empty()) {
        incoming.unreadable = fmt::format("{}: {}", tr_later("it is too large to be fetched, in MB"),
                                          mail.size_bytes / 1'000'000);
        return incoming;
    }
    try {
        // Why it cannot be read is kept.
        const language::Speaking english(nullptr);
        incoming.read = read_reply(mail.bytes, fmt::format("mail {}", mail.mark.last_uid));
    } catch (const Failure& failure) {
        // Whatever a stranger sent must not stop the mails behind it.
        incoming.unreadable = failure.error().what;
    }
    return incoming;
}

record::UnplacedMail unplaced_of(const Incoming& incoming, const std::string& who, Time now) {
    record::UnplacedMail mail;
    mail.received = now;
    if (incoming.read) {
        mail.from = record::as_plain_text(incoming.read->from);
        mail.subject = record::as_plain_text(incoming.read->subject);
        mail.text = record::as_plain_text(incoming.read->text);
        if (incoming.read->date && *incoming.read->date <= now) mail.received = *incoming.read->date;
    }
    mail.why =
        incoming.read ? tr_later("it names no one hold that the maker was asked about") : incoming.unreadable;
    mail.fetched_by = who;
    mail.fetched = now;
    return mail;
}

record::UnplacedMail open_mail(const store::Database& database, int number) {
    const std::string where = trf("unplaced mail {}", number);
    const std::optional<record::UnplacedMail> mail = store::find_unplaced(database, number);
    if (!mail)
        throw Failure(Fault::input, where, "there is no such mail",
                      "look up its number among the unplaced mails");
    if (mail->settled)
        throw Failure(Fault::refused, where,
                      mail->hold.empty() ? tr("it was set aside already")
                                         : trf("it was placed with {} already", mail->hold),
                      "leave it as it is");
    return *mail;
}

}  // namespace

InboxRun Desk::fetch_replies(const ReplyFolder& folder) {
    inside_->need_person();
    inside_->need_reader();
    post::FetchOrder order;
    // No reply is older than the first query; a day's grace for clocks and time zones.
    const Date first = store::first_query_day(inside_->database()).value_or(today());
    order.since = Date(std::chrono::sys_days(first) - std::chrono::days(1));
    if (const auto position = store::folder_position(inside_->database(), folder.address))
        order.read_up_to = post::FolderMark{static_cast<std::uint32_t>(position->uid_validity),
                                            static_cast<std::uint32_t>(position->last_uid)};
    InboxRun run;
    folder.fetch(order, [&](const post::FetchedMail& mail) {
        const Incoming incoming = read_incoming(mail, inside_->setup.read_reply);
        const Time now = inside_->now();
        Transaction transaction(inside_->database(), Transaction::Purpose::write);
        store::put_folder_position(inside_->database(), folder.address,
                                   {mail.mark.uid_validity, mail.mark.last_uid});
        // A copy of our own query that came back is no reply, but proves that it went out.
        const auto own = incoming.read ? store::query_with_id(inside_->database(), incoming.read->message_id)
                                       : std::nullopt;
        if (own) inside_->settle_by_reply(own->hold, {.in_reply_to = {own->message_id}}, now);
        if (own || (!mail.bytes.empty() &&
                    store::is_kept_mail(inside_->database(), photo::sha256_hex(mail.bytes)))) {
            transaction.commit();
            ++run.known;
            return;
        }
        const std::string hold = incoming.read ? inside_->hold_meant(incoming.read->clues) : std::string();
        if (!hold.empty()) {
            record::Reply reply = inside_->keep_reply(hold, mail.bytes, *incoming.read, now);
            transaction.commit();
            run.placed.push_back(std::move(reply));
            return;
        }
        record::UnplacedMail unplaced = unplaced_of(incoming, inside_->setup.who, now);
        if (!mail.bytes.empty()) unplaced.sha256 = inside_->keep(mail.bytes, now);
        unplaced = store::insert_unplaced(inside_->database(), std::move(unplaced));
        nlohmann::ordered_json details = record::as_json(unplaced);
        details.erase("text");
        inside_->tell_journal(now, "mail.fetch", fmt::format("mail {}", unplaced.number), details);
        transaction.commit();
        run.unplaced.push_back(std::move(unplaced));
    });
    return run;
}

std::vector<record::UnplacedMail> Desk::unplaced_mails(bool also_settled) const {
    return store::unplaced_mails(inside_->database(), also_settled);
}

record::Reply Desk::place_mail(int number, const std::string& hold) {
    inside_->need_person();
    inside_->need_reader();
    const record::UnplacedMail seen = open_mail(inside_->database(), number);
    if (seen.sha256.empty())
        throw Failure(Fault::refused, trf("unplaced mail {}", number), "it was too large to be fetched",
                      "save it in a mail program, add what you need to the hold, and set this entry aside");
    const std::vector<std::byte> bytes = kept_bytes(seen.sha256);
    const ReadReply read = inside_->setup.read_reply(bytes, trf("unplaced mail {}", number));
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::UnplacedMail mail = open_mail(inside_->database(), number);
    record::Reply reply = inside_->keep_reply(hold, bytes, read, now);
    mail.hold = hold;
    mail.settled_by = inside_->setup.who;
    mail.settled = now;
    store::settle_unplaced(inside_->database(), mail);
    transaction.commit();
    return reply;
}

record::UnplacedMail Desk::set_mail_aside(int number, const std::string& reason) {
    inside_->need_person();
    need_words(tr("reason"), reason, tr("write why it belongs to no hold"));
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::UnplacedMail mail = open_mail(inside_->database(), number);
    mail.set_aside = record::trimmed(reason);
    mail.settled_by = inside_->setup.who;
    mail.settled = now;
    store::settle_unplaced(inside_->database(), mail);
    inside_->tell_journal(now, "mail.set_aside", fmt::format("mail {}", number),
                          {{"reason", mail.set_aside}});
    transaction.commit();
    return mail;
}

}  // namespace frayhold::desk
