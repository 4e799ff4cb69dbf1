// SPDX-License-Identifier: Apache-2.0
// Queries on their way out: record/posting.h has their states.
#include "store/outbox.h"

#include <fmt/format.h>

#include "desk/inside.h"
#include "language/tr.h"
#include "record/json.h"
#include "record/rules.h"
#include "record/text.h"
#include "store/post_lock.h"
#include "units/error.h"

namespace frayhold::desk {
namespace {

using record::PostState;
using store::PostedQuery;
using Transaction = store::Transaction;

std::string where_of(const PostedQuery& posted) {
    return trf("hold {}, query {}", posted.hold, posted.query);
}

Failure not_waiting(const PostedQuery& posted, const std::optional<record::Posting>& posting,
                    const char* mend) {
    return {Fault::refused, where_of(posted),
            posting ? trf("it is {}", record::words_for(posting->state)) : tr("it is not in the outbox"),
            mend};
}

// One query of the store's outbox, and the changes it goes through: each a transaction of its own.
class Parcel {
  public:
    Parcel(Desk::Inside& inside, PostedQuery posted) : inside_(inside), posted_(std::move(posted)) {}

    // False where the hold has its verdict meanwhile: then it is withdrawn.
    bool begin() {
        bool may = false;
        change([&](record::CaseFile& file, record::Posting& posting) {
            may = record::may_ask(file).has_value() && !query_of(file, posted_.query).sent;
            posting.state = may ? PostState::trying : PostState::withdrawn;
            posting.next_try.reset();
            if (may) {
                record::PostTry one;
                one.number = static_cast<int>(posting.tries.size()) + 1;
                one.started = inside_.now();
                store::insert_try(inside_.database(), posted_, one);
            } else {
                inside_.tell_journal(
                    inside_.now(), "query.withdraw", posted_.hold,
                    {{"query", posted_.query}, {"because", tr_later("the hold has its verdict")}});
            }
        });
        return may;
    }

    void hand_over() {
        change([&](record::CaseFile&, record::Posting& posting) {
            posting.state = PostState::handing_over;
            posting.tries.back().handing_over = inside_.now();
            store::update_try(inside_.database(), posted_, posting.tries.back());
        });
    }

    void accept(int code, const std::string& words) {
        change([&](record::CaseFile& file, record::Posting& posting) {
            const Time now = inside_.now();
            posting.state = PostState::accepted;
            end_try(posting, code, words);
            inside_.note_sent(file, query_of(file, posted_.query), now, posting.queued_by, now);
        });
    }

    // Not accepted, or nobody knows.
    void end(PostState state, int code, const std::string& words, std::optional<std::chrono::seconds> wait) {
        change([&](record::CaseFile&, record::Posting& posting) {
            posting.state = state;
            if (wait) posting.next_try = inside_.now() + *wait;
            end_try(posting, code, words);
            nlohmann::ordered_json details = record::as_json(posting);
            details["tries"] = posting.tries.size();
            inside_.tell_journal(
                inside_.now(), "query.try", posted_.hold,
                {{"query", posted_.query}, {"posting", details}, {"code", code}, {"words", words}});
        });
    }

    [[nodiscard]] std::size_t tries() const {
        return store::posting_of(inside_.database(), posted_.hold, posted_.query).value().tries.size();
    }

    [[nodiscard]] OutboxLine line() const {
        return {posted_.hold, query_of(inside_.case_file(posted_.hold), posted_.query)};
    }

    [[nodiscard]] const PostedQuery& posted() const { return posted_; }

  private:
    template <class Change>
    void change(const Change& alter) {
        Transaction transaction(inside_.database(), Transaction::Purpose::write);
        record::CaseFile file = inside_.case_file(posted_.hold);
        record::Posting posting = query_of(file, posted_.query).posting.value();
        alter(file, posting);
        store::put_posting(inside_.database(), posted_, posting);
        transaction.commit();
    }

    void end_try(record::Posting& posting, int code, const std::string& words) {
        record::PostTry& last = posting.tries.back();
        last.ended = inside_.now();
        last.code = code;
        last.words = words;
        store::update_try(inside_.database(), posted_, last);
    }

    Desk::Inside& inside_;
    PostedQuery posted_;
};

void end_by(Parcel& parcel, const post::SmtpResult& result) {
    const std::size_t tries = parcel.tries();
    switch (result.handed) {
        case post::Handed::accepted:
            return;  // recorded as it came
        case post::Handed::unsure:
            return parcel.end(PostState::unsure, result.code, result.words, std::nullopt);
        case post::Handed::refused:
            return parcel.end(PostState::refused, result.code, result.words, std::nullopt);
        case post::Handed::not_now:
        case post::Handed::wrong_account:
            break;
    }
    const int count = static_cast<int>(tries);
    if (count >= post::most_tries)
        parcel.end(PostState::refused, result.code,
                   fmt::format("{}: {}", tr_later("given up after the last try"), result.words),
                   std::nullopt);
    else
        parcel.end(PostState::waiting, result.code, result.words, post::wait_after(count));
}

// What a program that ended in the middle has left.
std::vector<OutboxLine> tidy_left_over(Desk::Inside& inside) {
    std::vector<OutboxLine> left;
    for (const PostedQuery& posted : store::postings_in(inside.database(), PostState::trying)) {
        Parcel parcel(inside, posted);
        parcel.end(PostState::waiting, 0, tr_later("the program ended before anything was handed over"),
                   std::chrono::seconds(0));
        left.push_back(parcel.line());
    }
    for (const PostedQuery& posted : store::postings_in(inside.database(), PostState::handing_over)) {
        Parcel parcel(inside, posted);
        parcel.end(PostState::unsure, 0,
                   tr_later("the program ended while handing over: the server's reply is not known"),
                   std::nullopt);
        left.push_back(parcel.line());
    }
    return left;
}

// An error as it is kept with a try: tr_recorded shows each of its parts.
std::string kept_error(const Error& error) {
    std::string words = error.where;
    for (const std::string* part : {&error.what, &error.mend})
        if (!part->empty()) words = words.empty() ? *part : record::kept_words(words, *part);
    return words;
}

// Gives what stops the whole run.
std::optional<Error> carry(Desk::Inside& inside, Parcel& parcel, const std::string& to,
                           std::span<const std::byte> message, const MessageSender& send) {
    bool handed_over = false;
    // How a try ends is kept, and so in English; what a step throws is for the person here.
    const language::Catalogue* const here = language::spoken();
    const post::SmtpSteps steps{.before_handing_over =
                                    [&] {
                                        const language::Speaking again(here);
                                        parcel.hand_over();
                                        handed_over = true;
                                    },
                                .accepted =
                                    [&](int code, const std::string& words) {
                                        const language::Speaking again(here);
                                        parcel.accept(code, words);
                                    }};
    post::SmtpResult result;
    try {
        const language::Speaking english(nullptr);
        result = send(to, message, steps);
    } catch (const Failure& failure) {
        // What failed after the handing over is the store itself: the next run will find it.
        if (handed_over) throw;
        result = {post::Handed::wrong_account, 0, kept_error(failure.error())};
        end_by(parcel, result);
        return failure.error();
    }
    end_by(parcel, result);
    if (result.handed != post::Handed::wrong_account) return std::nullopt;
    return Error{Fault::outside, result.words, inside.setup.store.name(), tr("mend the account's settings")};
}

}  // namespace

record::Query Desk::queue_query(const std::string& hold, int number) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_ask(file));
    record::Query query = query_of(file, number);
    const PostedQuery posted{hold, number};
    if (query.sent)
        throw Failure(Fault::refused, where_of(posted),
                      trf("it was already sent on {}", to_text(*query.sent)),
                      "make another query, or a reminder");
    if (query.posting && query.posting->state != PostState::withdrawn)
        throw not_waiting(posted, query.posting, tr_later("look at the outbox"));
    record::Posting posting = query.posting.value_or(record::Posting{});
    posting.state = PostState::waiting;
    posting.queued = now;
    posting.queued_by = inside_->setup.who;
    posting.next_try = now;
    store::put_posting(inside_->database(), posted, posting);
    query.posting = posting;
    inside_->tell_journal(now, "query.queue", hold,
                          {{"query", number}, {"to", query.to}, {"sha256", query.sha256}});
    transaction.commit();
    return query;
}

OutboxRun Desk::run_outbox(const MessageSender& send, const std::optional<OutboxQuery>& only) {
    inside_->need_person();
    const store::PostLock lock(inside_->store);
    OutboxRun run;
    run.left_over = tidy_left_over(*inside_);
    for (const PostedQuery& posted : store::postings_due(inside_->database(), inside_->now())) {
        if (only && posted != PostedQuery{only->hold, only->query}) continue;
        Parcel parcel(*inside_, posted);
        const record::Query query = parcel.line().query;
        // Read before the try begins: a kept message that is damaged must not look like a fault of the post.
        const std::vector<std::byte> message = kept_bytes(query.sha256);
        if (parcel.begin()) run.stopped = carry(*inside_, parcel, query.to, message, send);
        run.tried.push_back(parcel.line());
        if (run.stopped) break;
    }
    return run;
}

std::vector<OutboxLine> Desk::outbox(bool all) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    std::vector<PostState> states{PostState::unsure, PostState::refused, PostState::handing_over,
                                  PostState::trying, PostState::waiting};
    if (all) states.insert(states.end(), {PostState::accepted, PostState::withdrawn});
    std::vector<OutboxLine> lines;
    for (const PostState state : states)
        for (const PostedQuery& posted : store::postings_in(inside_->database(), state))
            lines.push_back(Parcel(*inside_, posted).line());
    return lines;
}

record::Query Desk::withdraw_query(const std::string& hold, int number) {
    inside_->need_person();
    const PostedQuery posted{hold, number};
    // Under the lock: a program that carries the post may be about to take it.
    const store::PostLock lock(inside_->store);
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::Query query = query_of(inside_->case_file(hold), number);
    if (!query.posting || query.posting->state != PostState::waiting)
        throw not_waiting(posted, query.posting, tr_later("only what waits can be withdrawn"));
    query.posting->state = PostState::withdrawn;
    query.posting->next_try.reset();
    store::put_posting(inside_->database(), posted, *query.posting);
    inside_->tell_journal(inside_->now(), "query.withdraw", hold,
                          {{"query", number}, {"because", tr_later("a person says so")}});
    transaction.commit();
    return query;
}

record::Query Desk::settle_query(const std::string& hold, int number, PostDecision decision) {
    inside_->need_person();
    const PostedQuery posted{hold, number};
    const store::PostLock lock(inside_->store);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::CaseFile file = inside_->case_file(hold);
    record::Query query = query_of(file, number);
    const bool open = query.posting && (query.posting->state == PostState::unsure ||
                                        query.posting->state == PostState::refused);
    if (!open)
        throw not_waiting(posted, query.posting,
                          tr_later("only what is unsure or refused needs a person's word"));
    if (query.posting->state == PostState::refused && decision == PostDecision::was_sent)
        throw Failure(Fault::refused, where_of(posted), "the server did not take it",
                      "send it again, or another way");
    const bool again = decision == PostDecision::send_again;
    if (again) need_allowed(record::may_ask(file));
    query.posting->state = again ? PostState::waiting : PostState::accepted;
    if (again) query.posting->next_try = now;
    store::put_posting(inside_->database(), posted, *query.posting);
    inside_->tell_journal(now, "query.settle", hold,
                          {{"query", number}, {"decision", again ? "send_again" : "was_sent"}});
    if (!again) {
        const Time sent = query.posting->tries.back().handing_over.value_or(now);
        const record::Posting posting = *query.posting;
        query = inside_->note_sent(file, std::move(query), sent, posting.queued_by, now);
    }
    transaction.commit();
    return query;
}

}  // namespace frayhold::desk
