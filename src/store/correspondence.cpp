// SPDX-License-Identifier: Apache-2.0
#include "store/correspondence.h"

#include "store/named_cell.h"
#include "store/outbox.h"

namespace frayhold::store {
namespace {

const std::string query_columns =
    "q.hold, q.number, q.to_address, q.subject, q.message_id, q.sha256, q.made_by, q.made, q.sent, "
    "q.sent_by, "
    "q.reply_due";

record::Query read_query(Row& row) {
    record::Query query;
    query.hold = row.text();
    query.number = row.integer();
    query.to = row.text();
    query.subject = row.text();
    query.message_id = row.text();
    query.sha256 = row.text();
    query.made_by = row.text();
    query.made = row.time();
    query.sent = row.time_or_none();
    query.sent_by = row.text_or_empty();
    query.reply_due = row.date_or_none();
    return query;
}

record::Reply read_reply(Row& row) {
    record::Reply reply;
    reply.hold = row.text();
    reply.number = row.integer();
    reply.from = row.text();
    reply.subject = row.text();
    reply.message_id = row.text();
    reply.received = row.time();
    reply.sha256 = row.text();
    reply.text = row.text();
    reply.automatic = row.boolean();
    reply.added_by = row.text();
    reply.way = named(row.text(), record::reply_way_named);
    reply.delivery = row.text();
    return reply;
}

record::AnswerEntry read_answer(Row& row) {
    record::AnswerEntry answer;
    answer.answer = named(row.text(), record::makers_answer_named);
    answer.limit = row.text();
    answer.words = row.text();
    answer.entered_by = row.text();
    answer.entered = row.time();
    return answer;
}

record::Attachment read_attachment(Row& row) {
    record::Attachment attachment;
    attachment.file_name = row.text();
    attachment.media_type = row.text();
    attachment.size_bytes = row.number();
    attachment.sha256 = row.text();
    return attachment;
}

int next_in(const Database& database, const std::string& table, const std::string& column,
            const std::string& hold) {
    return static_cast<int>(
               database.count("SELECT MAX(" + column + ") FROM " + table + " WHERE hold = :hold", {hold})) +
           1;
}

}  // namespace

record::Query insert_query(Database& database, record::Query query, int reply_days) {
    query.number = next_in(database, "query", "number", query.hold);
    database.run(
        "INSERT INTO query (hold, number, to_address, subject, message_id, sha256, reply_days, made_by, "
        "made) "
        "VALUES (:hold, :number, :to, :subject, :message_id, :sha256, :days, :made_by, :made)",
        {query.hold, query.number, query.to, query.subject, query.message_id, query.sha256, reply_days,
         query.made_by, query.made});
    return query;
}

record::Reply insert_reply(Database& database, record::Reply reply) {
    reply.number = next_in(database, "reply", "number", reply.hold);
    database.run(
        "INSERT INTO reply (hold, number, from_address, subject, message_id, received, sha256, body, "
        "automatic, added_by, way, delivery) VALUES (:hold, :number, :from, :subject, :message_id, "
        ":received, "
        ":sha256, :body, :automatic, :added_by, :way, :delivery)",
        {reply.hold, reply.number, reply.from, reply.subject, reply.message_id, reply.received, reply.sha256,
         reply.text, reply.automatic, reply.added_by, record::name_of(reply.way), reply.delivery});
    int turn = 0;
    for (const record::Attachment& attachment : reply.attachments)
        database.run(
            "INSERT INTO attachment (hold, reply, turn, file_name, media_type, size_bytes, sha256) VALUES "
            "(:hold, :reply, :turn, :file_name, :media_type, :size, :sha256)",
            {reply.hold, reply.number, ++turn, attachment.file_name, attachment.media_type,
             attachment.size_bytes, attachment.sha256});
    return reply;
}

void set_query_sent(Database& database, const record::Query& query) {
    database.run(
        "UPDATE query SET sent = :sent, sent_by = :sent_by, reply_due = :due WHERE hold = :hold AND number = "
        ":number",
        {query.sent, query.sent_by, query.reply_due, query.hold, query.number});
}

void insert_answer(Database& database, const std::string& hold, int reply,
                   const record::AnswerEntry& answer) {
    database.run(
        "INSERT INTO answer (hold, reply, turn, answer, limit_words, words, entered_by, entered) VALUES "
        "(:hold, :reply, :turn, :answer, :limit, :words, :entered_by, :entered)",
        {hold, reply, next_in(database, "answer", "turn", hold), record::name_of(answer.answer), answer.limit,
         answer.words, answer.entered_by, answer.entered});
}

std::vector<record::Query> queries_of(const Database& database, const std::string& hold) {
    std::vector<record::Query> queries = database.all<record::Query>(
        "SELECT " + query_columns + " FROM query q WHERE q.hold = :hold ORDER BY q.number", {hold},
        read_query);
    for (record::Query& query : queries) query.posting = posting_of(database, hold, query.number);
    return queries;
}

std::vector<record::Reply> replies_of(const Database& database, const std::string& hold) {
    std::vector<record::Reply> replies = database.all<record::Reply>(
        "SELECT hold, number, from_address, subject, message_id, received, sha256, body, automatic, "
        "added_by, "
        "way, delivery FROM reply WHERE hold = :hold ORDER BY number",
        {hold}, read_reply);
    for (record::Reply& reply : replies) {
        reply.attachments = database.all<record::Attachment>(
            "SELECT file_name, media_type, size_bytes, sha256 FROM attachment WHERE hold = :hold AND reply = "
            ":reply "
            "ORDER BY turn",
            {hold, reply.number}, read_attachment);
        reply.answer = database.first<record::AnswerEntry>(
            "SELECT answer, limit_words, words, entered_by, entered FROM answer WHERE hold = :hold AND reply "
            "= :reply "
            "ORDER BY turn DESC LIMIT 1",
            {hold, reply.number}, read_answer);
    }
    return replies;
}

int reply_days_of(const Database& database, const std::string& hold, int query) {
    return static_cast<int>(database.count(
        "SELECT reply_days FROM query WHERE hold = :hold AND number = :number", {hold, query}));
}

std::optional<record::Query> query_with_id(const Database& database, const std::string& message_id) {
    return database.first<record::Query>(
        "SELECT " + query_columns + " FROM query q WHERE q.message_id = :message_id", {message_id},
        read_query);
}

std::vector<record::Query> queries_due(const Database& database, Date by, int limit, int offset) {
    return database.all<record::Query>("SELECT " + query_columns +
                                           " FROM hold h JOIN query q ON q.hold = h.number AND q.number = "
                                           "(SELECT MAX(s.number) FROM query s WHERE "
                                           "s.hold = h.number AND s.sent IS NOT NULL) WHERE h.reply_due <= "
                                           ":by ORDER BY h.reply_due, h.number LIMIT :limit OFFSET :offset",
                                       {by, limit_or_all(limit), offset}, read_query);
}

}  // namespace frayhold::store
