// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/posting.h"
#include "store/database.h"

namespace frayhold::store {

// A query in the outbox.
struct PostedQuery {
    std::string hold;
    int query = 0;

    bool operator==(const PostedQuery&) const = default;
};

[[nodiscard]] std::optional<record::Posting> posting_of(const Database& database, const std::string& hold,
                                                        int query);

// Sets the state, who queued it when, and its next try; adds the row where it is new. Its tries stay as they
// are. The database itself refuses any change to one that was accepted.
void put_posting(Database& database, const PostedQuery& query, const record::Posting& posting);

// A try is added as it starts, marked as it hands over and ended once.
void insert_try(Database& database, const PostedQuery& query, const record::PostTry& started);
void update_try(Database& database, const PostedQuery& query, const record::PostTry& changed);

// In a state; the longest queued first.
[[nodiscard]] std::vector<PostedQuery> postings_in(const Database& database, record::PostState state);
// Waiting, with their next try on or before a time; the longest due first.
[[nodiscard]] std::vector<PostedQuery> postings_due(const Database& database, Time now);

}  // namespace frayhold::store
