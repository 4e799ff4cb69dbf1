// SPDX-License-Identifier: Apache-2.0
#include "desk/asking.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/inside.h"
#include "photo/sha256.h"
#include "record/json.h"
#include "record/rules.h"
#include "record/text.h"
#include "store/correspondence.h"
#include "store/holds.h"

// Queries to the maker, their replies and the answers read from them.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

Date day_of(Time time) {
    return Date(std::chrono::floor<std::chrono::days>(time));
}

void check_order(const QueryOrder& order) {
    need_words("to", order.to, "give the maker's address");
    need_plain_text("from", order.from);
    need_plain_text("own words", order.own_words);
    for (const std::string& question : order.questions) need_plain_text("question", question);
    if (order.reply_days < 1 || order.reply_days > 366)
        throw Failure(Fault::input, "days to reply", fmt::format("{} is out of range", order.reply_days),
                      "give 1 to 366 days");
}

const record::Query& query_of(const record::CaseFile& file, int number) {
    const auto found = std::find_if(file.queries.begin(), file.queries.end(),
                                    [&](const record::Query& query) { return query.number == number; });
    if (found != file.queries.end()) return *found;
    throw Failure(Fault::input, "hold " + file.hold.number, fmt::format("there is no query {}", number),
                  "look up the number among the hold's queries");
}

void check_sent(const record::Query& query, Time sent, Time now) {
    const std::string where = fmt::format("hold {}, query {}", query.hold, query.number);
    if (query.sent)
        throw Failure(Fault::refused, where, "it was already sent on " + to_text(*query.sent),
                      "leave it as it is");
    if (sent < query.made)
        throw Failure(Fault::input, where,
                      "it cannot have been sent before it was made on " + to_text(query.made),
                      "give the time it was sent");
    if (sent > now)
        throw Failure(Fault::input, where, "the time sent lies ahead", "give the time it was sent");
}

// The hold whose query the message answers; empty where it answers none that is known.
std::string hold_answered(const store::Database& database, const ReadReply& message) {
    for (const std::string& id : message.answers_to)
        if (const std::optional<record::Query> query = store::query_with_id(database, id)) return query->hold;
    return "";
}

nlohmann::ordered_json details_of(const record::Reply& reply) {
    nlohmann::ordered_json out = record::as_json(reply);
    out.erase("text");
    out.erase("answer");
    return out;
}

}  // namespace

record::Query Desk::make_query(const std::string& hold, const QueryOrder& order) {
    inside_->need_person();
    if (!inside_->setup.compose)
        throw Failure(Fault::outside, "make query", "this desk cannot make letters",
                      "open it with a composer");
    check_order(order);
    const Time now = inside_->now();
    const record::CaseFile before = case_file(hold);
    need_allowed(record::may_ask(before));
    const ComposedQuery composed = inside_->setup.compose(
        before, order, [this](const std::string& sha256) { return kept_bytes(sha256); }, inside_->setup.who,
        now);

    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_ask(file));
    if (file.queries.size() != before.queries.size() ||
        store::query_with_id(inside_->database(), composed.message_id))
        throw Failure(Fault::refused, "hold " + hold, "another query was made at the same time",
                      "look at the hold again");
    record::Query query;
    query.hold = hold;
    query.to = order.to;
    query.subject = record::as_plain_text(composed.subject);
    query.message_id = composed.message_id;
    query.sha256 = inside_->keep(composed.message, now);
    query.made_by = inside_->setup.who;
    query.made = now;
    query = store::insert_query(inside_->database(), std::move(query), order.reply_days);
    inside_->tell_journal(now, "query.make", hold, record::as_json(query));
    transaction.commit();
    return query;
}

record::Query Desk::mark_sent(const std::string& hold, int number, std::optional<Time> sent) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_ask(file));
    record::Query query = query_of(file, number);
    check_sent(query, sent.value_or(now), now);
    query.sent = sent.value_or(now);
    query.sent_by = inside_->setup.who;
    const int days = store::reply_days_of(inside_->database(), hold, number);
    query.reply_due = day_of(*query.sent + std::chrono::days(days));
    store::set_query_sent(inside_->database(), query);
    if (file.hold.state == record::HoldState::ready) inside_->move_hold(file.hold, record::HoldState::asked);
    if (file.hold.state == record::HoldState::asked)
        store::set_reply_due(inside_->database(), hold, query.reply_due);
    inside_->tell_journal(now, "query.send", hold, record::as_json(query));
    transaction.commit();
    return query;
}

record::Reply Desk::add_reply(const std::string& given_hold, std::span<const std::byte> message,
                              const std::string& name) {
    inside_->need_person();
    if (!inside_->setup.read_reply)
        throw Failure(Fault::outside, "add reply", "this desk cannot read mail", "open it with a reader");
    const ReadReply read = inside_->setup.read_reply(message, name);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const std::string hold = given_hold.empty() ? hold_answered(inside_->database(), read) : given_hold;
    if (hold.empty())
        throw Failure(Fault::input, record::as_plain_text(name), "it answers no query that is known here",
                      "name the hold it belongs to");
    const record::CaseFile file = inside_->case_file(hold);
    const std::string sha256 = photo::sha256_hex(message);
    for (const record::Reply& known : file.replies)
        if (known.sha256 == sha256) return known;

    record::Reply reply;
    reply.hold = hold;
    reply.from = record::as_plain_text(read.from);
    reply.subject = record::as_plain_text(read.subject);
    reply.message_id = record::as_plain_text(read.message_id);
    reply.received = read.date && *read.date <= now ? *read.date : now;
    reply.sha256 = inside_->keep(message, now);
    reply.text = record::as_plain_text(read.text);
    for (const ReadAttachment& attachment : read.attachments)
        reply.attachments.push_back(
            {record::as_plain_text(attachment.file_name), record::as_plain_text(attachment.media_type),
             static_cast<std::int64_t>(attachment.bytes.size()), inside_->keep(attachment.bytes, now)});
    reply.automatic = read.automatic;
    reply.added_by = inside_->setup.who;
    reply = store::insert_reply(inside_->database(), std::move(reply));
    // A reply that waits to be read no longer waits for the maker.
    if (!reply.automatic && file.hold.state == record::HoldState::asked)
        store::set_reply_due(inside_->database(), hold, std::nullopt);
    inside_->tell_journal(now, "reply.add", hold, details_of(reply));
    transaction.commit();
    return reply;
}

record::Reply Desk::enter_answer(const std::string& hold, int number, record::AnswerEntry answer) {
    inside_->need_person();
    need_plain_text("limit", answer.limit);
    need_plain_text("words", answer.words);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_enter_answer(file, number, answer));
    answer.limit = record::trimmed(answer.limit);
    answer.entered_by = inside_->setup.who;
    answer.entered = now;
    store::insert_answer(inside_->database(), hold, number, answer);
    if (file.hold.state == record::HoldState::asked)
        inside_->move_hold(file.hold, record::HoldState::answered);
    nlohmann::ordered_json details = record::as_json(answer);
    details["reply"] = number;
    inside_->tell_journal(now, "answer.enter", hold, details);
    transaction.commit();
    const std::vector<record::Reply> replies = inside_->case_file(hold).replies;
    return *std::find_if(replies.begin(), replies.end(),
                         [&](const record::Reply& reply) { return reply.number == number; });
}

ReadReply Desk::read_message(const std::string& sha256) const {
    if (!inside_->setup.read_reply)
        throw Failure(Fault::outside, "read mail", "this desk cannot read mail", "open it with a reader");
    return inside_->setup.read_reply(kept_bytes(sha256), "the kept message");
}

std::vector<DueReply> Desk::overdue_replies() const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    const Date now = today();
    std::vector<DueReply> due;
    for (record::Query& query : store::queries_due(inside_->database(), now)) {
        DueReply line;
        line.hold = store::find_hold(inside_->database(), query.hold).value();
        line.days_overdue =
            static_cast<int>((std::chrono::sys_days(now) - std::chrono::sys_days(*query.reply_due)).count());
        line.query = std::move(query);
        due.push_back(std::move(line));
    }
    return due;
}

}  // namespace frayhold::desk
