// SPDX-License-Identifier: Apache-2.0
#include "store/outbox.h"

#include "store/named_cell.h"

namespace frayhold::store {
namespace {

PostedQuery read_posted(Row& row) {
    PostedQuery posted;
    posted.hold = row.text();
    posted.query = row.integer();
    return posted;
}

record::PostTry read_try(Row& row) {
    record::PostTry one;
    one.number = row.integer();
    one.started = row.time();
    one.handing_over = row.time_or_none();
    one.ended = row.time_or_none();
    one.code = row.integer();
    one.words = row.text();
    return one;
}

}  // namespace

std::optional<record::Posting> posting_of(const Database& database, const std::string& hold, int query) {
    std::optional<record::Posting> posting = database.first<record::Posting>(
        "SELECT state, queued_by, queued, next_try FROM posting WHERE hold = :hold AND query = :query",
        {hold, query}, [](Row& row) {
            record::Posting found;
            found.state = named(row.text(), record::post_state_named);
            found.queued_by = row.text();
            found.queued = row.time();
            found.next_try = row.time_or_none();
            return found;
        });
    if (posting)
        posting->tries = database.all<record::PostTry>(
            "SELECT number, started, handing_over, ended, code, words FROM post_try WHERE hold = :hold AND "
            "query = "
            ":query ORDER BY number",
            {hold, query}, read_try);
    return posting;
}

void put_posting(Database& database, const PostedQuery& query, const record::Posting& posting) {
    const std::string state(record::name_of(posting.state));
    if (posting_of(database, query.hold, query.query))
        database.run(
            "UPDATE posting SET state = :state, queued_by = :queued_by, queued = :queued, next_try = :next "
            "WHERE hold "
            "= :hold AND query = :query",
            {state, posting.queued_by, posting.queued, posting.next_try, query.hold, query.query});
    else
        database.run(
            "INSERT INTO posting (hold, query, state, queued_by, queued, next_try) VALUES (:hold, :query, "
            ":state, "
            ":queued_by, :queued, :next)",
            {query.hold, query.query, state, posting.queued_by, posting.queued, posting.next_try});
}

void insert_try(Database& database, const PostedQuery& query, const record::PostTry& started) {
    database.run(
        "INSERT INTO post_try (hold, query, number, started, code, words) VALUES (:hold, :query, :number, "
        ":started, 0, "
        "'')",
        {query.hold, query.query, started.number, started.started});
}

void update_try(Database& database, const PostedQuery& query, const record::PostTry& changed) {
    database.run(
        "UPDATE post_try SET handing_over = :handing_over, ended = :ended, code = :code, words = :words "
        "WHERE hold = "
        ":hold AND query = :query AND number = :number",
        {changed.handing_over, changed.ended, changed.code, changed.words, query.hold, query.query,
         changed.number});
}

std::vector<PostedQuery> postings_in(const Database& database, record::PostState state) {
    return database.all<PostedQuery>(
        "SELECT hold, query FROM posting WHERE state = :state ORDER BY queued, hold, query",
        {std::string(record::name_of(state))}, read_posted);
}

std::vector<PostedQuery> postings_due(const Database& database, Time now) {
    return database.all<PostedQuery>(
        "SELECT hold, query FROM posting WHERE state = 'waiting' AND next_try <= :now ORDER BY next_try, "
        "hold, query",
        {now}, read_posted);
}

}  // namespace frayhold::store
