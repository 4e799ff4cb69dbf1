// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/correspondence.h"
#include "record/hold.h"
#include "store/database.h"

namespace frayhold::store {

// Each gives the row the next number within its hold. The bytes must be known as blobs (known_blobs.h).
[[nodiscard]] record::Query insert_query(Database& database, record::Query query, int reply_days);
[[nodiscard]] record::Reply insert_reply(Database& database, record::Reply reply);

// Once only: the database itself refuses a second time.
void set_query_sent(Database& database, const record::Query& query);
// A later answer takes the place of an earlier one, which stays in its row.
void insert_answer(Database& database, const std::string& hold, int reply, const record::AnswerEntry& answer);

[[nodiscard]] std::vector<record::Query> queries_of(const Database& database, const std::string& hold);
[[nodiscard]] std::vector<record::Reply> replies_of(const Database& database, const std::string& hold);
[[nodiscard]] int reply_days_of(const Database& database, const std::string& hold, int query);
// The query with this Message-ID.
[[nodiscard]] std::optional<record::Query> query_with_id(const Database& database,
                                                         const std::string& message_id);
// The last query sent of each hold that waits for its reply, due on a day or before; longest due first.
[[nodiscard]] std::vector<record::Query> queries_due(const Database& database, Date by, int limit = 0,
                                                     int offset = 0);

}  // namespace frayhold::store
