// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "record/journal_entry.h"
#include "store/database.h"

namespace frayhold::store {

struct JournalSearch {
    std::string subject{};
    std::string action{};
    std::int64_t after = 0;  // entries with a higher number
    int limit = 0;           // 0: all
};

// Adds an entry to the end: number, previous hash and hash are set here. Belongs in the transaction of what
// it tells of.
record::JournalEntry append_journal(Database& database, record::JournalEntry entry);

// In the order they were written.
[[nodiscard]] std::vector<record::JournalEntry> search_journal(const Database& database,
                                                               const JournalSearch& search);
void each_journal_entry(const Database& database,
                        const std::function<void(const record::JournalEntry&)>& take);
[[nodiscard]] std::optional<record::JournalEntry> last_journal_entry(const Database& database);

}  // namespace frayhold::store
