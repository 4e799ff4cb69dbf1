// SPDX-License-Identifier: Apache-2.0
// What asking, the outbox and the inbox share: a query that went out, a reply that is kept.
#include "store/correspondence.h"

#include <algorithm>

#include "desk/inside.h"
#include "language/tr.h"
#include "photo/sha256.h"
#include "record/json.h"
#include "record/text.h"
#include "store/holds.h"
#include "store/outbox.h"
#include "units/error.h"

namespace frayhold::desk {
namespace {

nlohmann::ordered_json details_of(const record::Reply& reply) {
    nlohmann::ordered_json out = record::as_json(reply);
    out.erase("text");
    out.erase("answer");
    return out;
}

}  // namespace

const record::Query& query_of(const record::CaseFile& file, int number) {
    const auto found = std::find_if(file.queries.begin(), file.queries.end(),
                                    [&](const record::Query& query) { return query.number == number; });
    if (found != file.queries.end()) return *found;
    throw Failure(Fault::input, trf("hold {}", file.hold.number), trf("there is no query {}", number),
                  "look up the number among the hold's queries");
}

void Desk::Inside::need_reader() const {
    if (!setup.read_reply)
        throw Failure(Fault::outside, tr("add reply"), "this desk cannot read mail", "open it with a reader");
}

record::Query Desk::Inside::note_sent(record::CaseFile& file, record::Query query, Time sent,
                                      const std::string& sent_by, Time now) {
    const std::string& hold = file.hold.number;
    query.sent = sent;
    query.sent_by = sent_by;
    const int days = store::reply_days_of(database(), hold, query.number);
    query.reply_due = day_of(sent + std::chrono::days(days));
    store::set_query_sent(database(), query);
    if (file.hold.state == record::HoldState::ready) move_hold(file.hold, record::HoldState::asked);
    if (file.hold.state == record::HoldState::asked) store::set_reply_due(database(), hold, query.reply_due);
    tell_journal(now, "query.send", hold, record::as_json(query));
    return query;
}

std::string Desk::Inside::hold_meant(const post::HoldClues& clues) {
    const auto hold_of_query = [this](const std::string& id) -> std::optional<std::string> {
        if (const std::optional<record::Query> query = store::query_with_id(database(), id))
            return query->hold;
        return std::nullopt;
    };
    const auto is_asked_hold = [this](const std::string& number) {
        return !store::queries_of(database(), number).empty();
    };
    const std::optional<post::Match> found = post::match(clues, hold_of_query, is_asked_hold);
    return found ? found->hold_number : std::string();
}

void Desk::Inside::settle_by_reply(const std::string& hold, const post::HoldClues& clues, Time now) {
    std::vector<std::string> ids = clues.in_reply_to;
    ids.insert(ids.end(), clues.references.begin(), clues.references.end());
    for (const std::string& id : ids) {
        std::optional<record::Query> query = store::query_with_id(database(), id);
        if (!query || query->hold != hold) continue;
        std::optional<record::Posting> posting = store::posting_of(database(), hold, query->number);
        if (!posting || posting->state != record::PostState::unsure) continue;
        posting->state = record::PostState::accepted;
        store::put_posting(database(), {hold, query->number}, *posting);
        record::CaseFile file = case_file(hold);
        tell_journal(now, "query.settle", hold,
                     {{"query", query->number},
                      {"decision", "was_sent"},
                      {"because", tr_later("a message about it came")}});
        note_sent(file, *query, posting->tries.back().handing_over.value_or(now), posting->queued_by, now);
    }
}

record::Reply Desk::Inside::keep_reply(const std::string& hold, std::span<const std::byte> message,
                                       const ReadReply& read, Time now) {
    const std::string sha256 = photo::sha256_hex(message);
    settle_by_reply(hold, read.clues, now);
    const record::CaseFile file = case_file(hold);
    for (const record::Reply& known : file.replies)
        if (known.sha256 == sha256) return known;
    record::Reply reply;
    reply.hold = hold;
    reply.from = record::as_plain_text(read.from);
    reply.subject = record::as_plain_text(read.subject);
    reply.message_id = record::as_plain_text(read.message_id);
    reply.received = read.date && *read.date <= now ? *read.date : now;
    reply.sha256 = keep(message, now);
    reply.text = record::as_plain_text(read.text);
    for (const ReadAttachment& attachment : read.attachments)
        reply.attachments.push_back(
            {record::as_plain_text(attachment.file_name), record::as_plain_text(attachment.media_type),
             static_cast<std::int64_t>(attachment.bytes.size()), keep(attachment.bytes, now)});
    reply.automatic = read.automatic;
    reply.delivery = record::as_plain_text(read.delivery);
    return add_reply(file, std::move(reply), now);
}

record::Reply Desk::Inside::add_reply(const record::CaseFile& file, record::Reply reply, Time now) {
    reply.added_by = setup.who;
    reply = store::insert_reply(database(), std::move(reply));
    // A reply that waits to be read no longer waits for the maker.
    if (!reply.automatic && file.hold.state == record::HoldState::asked)
        store::set_reply_due(database(), file.hold.number, std::nullopt);
    tell_journal(now, "reply.add", file.hold.number, details_of(reply));
    return reply;
}

}  // namespace frayhold::desk
