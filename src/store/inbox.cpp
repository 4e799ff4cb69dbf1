// SPDX-License-Identifier: Apache-2.0
#include "store/inbox.h"

namespace frayhold::store {
namespace {

const std::string select_unplaced =
    "SELECT number, from_address, subject, body, received, sha256, why, fetched_by, fetched, hold, "
    "set_aside, "
    "settled_by, settled FROM unplaced_mail ";

record::UnplacedMail read_unplaced(Row& row) {
    record::UnplacedMail mail;
    mail.number = row.integer();
    mail.from = row.text();
    mail.subject = row.text();
    mail.text = row.text();
    mail.received = row.time();
    mail.sha256 = row.text_or_empty();
    mail.why = row.text();
    mail.fetched_by = row.text();
    mail.fetched = row.time();
    mail.hold = row.text_or_empty();
    mail.set_aside = row.text_or_empty();
    mail.settled_by = row.text_or_empty();
    mail.settled = row.time_or_none();
    return mail;
}

}  // namespace

std::optional<FolderPosition> folder_position(const Database& database, const std::string& address) {
    return database.first<FolderPosition>(
        "SELECT uid_validity, last_uid FROM mail_folder WHERE address = :address", {address}, [](Row& row) {
            FolderPosition position;
            position.uid_validity = row.number();
            position.last_uid = row.number();
            return position;
        });
}

void put_folder_position(Database& database, const std::string& address, const FolderPosition& position) {
    database.run(
        "INSERT INTO mail_folder (address, uid_validity, last_uid) VALUES (:address, :validity, :uid) ON "
        "CONFLICT "
        "(address) DO UPDATE SET uid_validity = excluded.uid_validity, last_uid = excluded.last_uid",
        {address, position.uid_validity, position.last_uid});
}

record::UnplacedMail insert_unplaced(Database& database, record::UnplacedMail mail) {
    mail.number = static_cast<int>(database.count("SELECT MAX(number) FROM unplaced_mail")) + 1;
    database.run(
        "INSERT INTO unplaced_mail (number, from_address, subject, body, received, sha256, why, fetched_by, "
        "fetched) "
        "VALUES (:number, :from, :subject, :body, :received, :sha256, :why, :fetched_by, :fetched)",
        {mail.number, mail.from, mail.subject, mail.text, mail.received, or_null(mail.sha256), mail.why,
         mail.fetched_by, mail.fetched});
    return mail;
}

void settle_unplaced(Database& database, const record::UnplacedMail& mail) {
    database.run(
        "UPDATE unplaced_mail SET hold = :hold, set_aside = :aside, settled_by = :by, settled = :settled "
        "WHERE number "
        "= :number",
        {or_null(mail.hold), or_null(mail.set_aside), mail.settled_by, mail.settled, mail.number});
}

std::optional<record::UnplacedMail> find_unplaced(const Database& database, int number) {
    return database.first<record::UnplacedMail>(select_unplaced + "WHERE number = :number", {number},
                                                read_unplaced);
}

std::vector<record::UnplacedMail> unplaced_mails(const Database& database, bool also_settled) {
    return database.all<record::UnplacedMail>(
        select_unplaced + (also_settled ? "" : "WHERE settled IS NULL ") + "ORDER BY number", {},
        read_unplaced);
}

bool is_kept_mail(const Database& database, const std::string& sha256) {
    return database.count("SELECT COUNT(*) FROM reply WHERE sha256 = :sha256", {sha256}) > 0 ||
           database.count("SELECT COUNT(*) FROM unplaced_mail WHERE sha256 = :sha256", {sha256}) > 0;
}

std::optional<Date> first_query_day(const Database& database) {
    const auto first = database.first<std::optional<Time>>("SELECT MIN(made) FROM query", {},
                                                           [](Row& row) { return row.time_or_none(); });
    if (!first || !*first) return std::nullopt;
    return day_of(**first);
}

}  // namespace frayhold::store
