// SPDX-License-Identifier: Apache-2.0
#include "store/known_blobs.h"

namespace frayhold::store {

void know_blob(Database& database, const std::string& sha256, std::int64_t size_bytes, Time now) {
    if (is_known_blob(database, sha256)) return;
    database.run("INSERT INTO blob (sha256, size_bytes, added) VALUES (:sha256, :size, :added)",
                 {sha256, size_bytes, now});
}

std::vector<std::string> known_blobs(const Database& database, int limit) {
    return database.all<std::string>("SELECT sha256 FROM blob ORDER BY sha256 LIMIT :limit",
                                     {limit_or_all(limit)}, [](Row& row) { return row.text(); });
}

bool is_known_blob(const Database& database, const std::string& sha256) {
    return database.count("SELECT COUNT(*) FROM blob WHERE sha256 = :sha256", {sha256}) > 0;
}

}  // namespace frayhold::store
