// SPDX-License-Identifier: Apache-2.0
#include "desk/asking.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/in_language.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "photo/sha256.h"
#include "record/json.h"
#include "record/rules.h"
#include "record/text.h"
#include "store/correspondence.h"
#include "store/holds.h"
#include "store/makers.h"

// Queries to the maker, their replies and the answers read from them.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

void check_order(const QueryOrder& order) {
    need_words("to", order.to, tr("give the maker's address, or enter it into the maker's book"));
    need_plain_text("from", order.from);
    need_plain_text(tr("own words"), order.own_words);
    for (const std::string& question : order.questions) need_plain_text(tr("question"), question);
    if (*order.reply_days < 1 || *order.reply_days > most_reply_days)
        throw Failure(Fault::input, tr("days to reply"), trf("{} is out of range", *order.reply_days),
                      trf("give 1 to {} days", most_reply_days));
}

// With what it leaves open filled in.
QueryOrder completed(QueryOrder order, const std::optional<record::Maker>& maker) {
    if (maker) {
        if (record::is_blank(order.to)) order.to = maker->addresses.front();
        if (order.language.empty()) order.language = maker->language;
        if (!order.reply_days) order.reply_days = maker->reply_days;
        if (!order.mail_limit_bytes) order.mail_limit_bytes = maker->mail_limit_bytes;
    }
    if (order.language.empty()) order.language = "en";
    if (!order.reply_days) order.reply_days = usual_reply_days;
    return order;
}

void check_sent(const record::Query& query, Time sent, Time now) {
    const std::string where = trf("hold {}, query {}", query.hold, query.number);
    if (query.sent)
        throw Failure(Fault::refused, where, trf("it was already sent on {}", to_text(*query.sent)),
                      "leave it as it is");
    if (query.posting && record::is_in_the_post(*query.posting))
        throw Failure(Fault::refused, where,
                      trf("it is in the outbox, {}", record::words_for(query.posting->state)),
                      "let the post carry it, or withdraw or settle it there");
    if (sent < query.made)
        throw Failure(Fault::input, where,
                      trf("it cannot have been sent before it was made on {}", to_text(query.made)),
                      "give the time it was sent");
    if (sent > now)
        throw Failure(Fault::input, where, "the time sent lies ahead", "give the time it was sent");
}

}  // namespace

record::Query Desk::make_query(const std::string& hold, const QueryOrder& given) {
    inside_->need_person();
    if (!inside_->setup.compose)
        throw Failure(Fault::outside, tr("make query"), "this desk cannot make letters",
                      "open it with a composer");
    const QueryOrder order = completed(given, maker_of(hold));
    check_order(order);
    const Time now = inside_->now();
    const record::CaseFile before = case_file(hold);
    need_allowed(record::may_ask(before));
    if (order.reminder && before.hold.state != record::HoldState::asked)
        throw Failure(Fault::refused, trf("hold {}", hold), "there is nothing to remind the maker of",
                      "a reminder follows a query that was sent and not answered");
    const ComposedQuery composed = in_language(inside_->setup.languages.get(), order.language, [&] {
        return inside_->setup.compose(
            before, order, [this](const std::string& sha256) { return kept_bytes(sha256); },
            inside_->setup.who, now);
    });

    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_ask(file));
    if (file.queries.size() != before.queries.size() ||
        store::query_with_id(inside_->database(), composed.message_id))
        throw Failure(Fault::refused, trf("hold {}", hold), "another query was made at the same time",
                      "look at the hold again");
    record::Query query;
    query.hold = hold;
    query.to = order.to;
    query.subject = record::as_plain_text(composed.subject);
    query.message_id = composed.message_id;
    query.sha256 = inside_->keep(composed.message, now);
    query.made_by = inside_->setup.who;
    query.made = now;
    query = store::insert_query(inside_->database(), std::move(query), *order.reply_days);
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
    query = inside_->note_sent(file, query, sent.value_or(now), inside_->setup.who, now);
    transaction.commit();
    return query;
}

record::Reply Desk::add_reply(const std::string& given_hold, std::span<const std::byte> message,
                              const std::string& name) {
    inside_->need_person();
    inside_->need_reader();
    const ReadReply read = inside_->setup.read_reply(message, name);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const std::string hold = given_hold.empty() ? inside_->hold_meant(read.clues) : given_hold;
    if (hold.empty())
        throw Failure(Fault::input, record::as_plain_text(name), "it answers no query that is known here",
                      "name the hold it belongs to");
    record::Reply reply = inside_->keep_reply(hold, message, read, now);
    transaction.commit();
    return reply;
}

record::Reply Desk::add_words(const std::string& hold, const WordsOrder& order) {
    inside_->need_person();
    need_words("from", order.from, tr("say whose words they are"));
    need_words(tr("words"), order.text, tr("write what was said"));
    const Time now = inside_->now();
    if (order.received && *order.received > now)
        throw Failure(Fault::input, tr("when"), "it lies ahead", "give the time the words came");
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    record::Reply reply;
    reply.hold = hold;
    reply.way = order.way;
    reply.from = record::trimmed(order.from);
    reply.subject = in_english([&] { return record::words_for(order.way); });
    reply.received = order.received.value_or(now);
    reply.text = order.text;
    // The form that is hashed and kept: who, when and what, so that the same words on another day are another
    // reply.
    const std::string kept = fmt::format("From: {}\nReceived: {}\nWay: {}\n\n{}", reply.from,
                                         to_text(reply.received), record::name_of(order.way), order.text);
    const auto bytes = std::as_bytes(std::span(kept));
    for (const record::Reply& known : file.replies)
        if (known.sha256 == photo::sha256_hex(bytes)) return known;
    reply.sha256 = inside_->keep(bytes, now);
    reply = inside_->add_reply(file, std::move(reply), now);
    transaction.commit();
    return reply;
}

record::Reply Desk::enter_answer(const std::string& hold, int number, record::AnswerEntry answer) {
    inside_->need_person();
    need_plain_text(tr("limit"), answer.limit);
    need_plain_text(tr("words"), answer.words);
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
        throw Failure(Fault::outside, tr("read mail"), "this desk cannot read mail", "open it with a reader");
    return inside_->setup.read_reply(kept_bytes(sha256), tr("the kept message"));
}

std::vector<DueReply> Desk::overdue_replies(int limit, int offset) const {
    return inside_->replies_due(today(), today(), limit, offset);
}

std::vector<DueReply> Desk::awaited_replies() const {
    const Date last = Date(std::chrono::year(9999), std::chrono::December, std::chrono::day(31));
    return inside_->replies_due(last, today(), 0, 0);
}

std::vector<DueReply> Desk::Inside::replies_due(Date by, Date today, int limit, int offset) {
    const Transaction snapshot(database(), Transaction::Purpose::read);
    std::vector<DueReply> due;
    for (record::Query& query : store::queries_due(database(), by, limit, offset)) {
        DueReply line;
        line.hold = store::find_hold(database(), query.hold).value();
        line.days_overdue = static_cast<int>(
            (std::chrono::sys_days(today) - std::chrono::sys_days(*query.reply_due)).count());
        line.query = std::move(query);
        due.push_back(std::move(line));
    }
    return due;
}

}  // namespace frayhold::desk
