// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "record/unplaced.h"
#include "store/database.h"

namespace frayhold::store {

// How far a mail folder has been read (post/imap.h).
struct FolderPosition {
    std::int64_t uid_validity = 0;
    std::int64_t last_uid = 0;
};

[[nodiscard]] std::optional<FolderPosition> folder_position(const Database& database,
                                                            const std::string& address);
void put_folder_position(Database& database, const std::string& address, const FolderPosition& position);

// Gives the mail the next number. Its bytes must be known as a blob where it has any.
[[nodiscard]] record::UnplacedMail insert_unplaced(Database& database, record::UnplacedMail mail);
// Sets what a person did with it; once only.
void settle_unplaced(Database& database, const record::UnplacedMail& mail);
[[nodiscard]] std::optional<record::UnplacedMail> find_unplaced(const Database& database, int number);
// Those that wait for a person, or all; the oldest first.
[[nodiscard]] std::vector<record::UnplacedMail> unplaced_mails(const Database& database, bool also_settled);

// Whether a mail of exactly these bytes is kept as a reply or among the unplaced.
[[nodiscard]] bool is_kept_mail(const Database& database, const std::string& sha256);

// The day the first query was made: no reply can be older.
[[nodiscard]] std::optional<Date> first_query_day(const Database& database);

}  // namespace frayhold::store
