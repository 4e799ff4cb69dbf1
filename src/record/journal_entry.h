// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>

#include "units/date.h"

namespace frayhold::record {

// One line of the append-only journal. Each entry's hash covers the one before it, so that a change to any
// entry shows in every later hash.
struct JournalEntry {
    std::int64_t number = 0;  // 1, 2, 3, … without a gap
    Time time{};
    std::string who;
    std::string action;   // "hold.open"
    std::string subject;  // an item's mark or a hold's number
    std::string details;  // JSON text
    std::string previous_hash;
    std::string hash;

    bool operator==(const JournalEntry&) const = default;
};

// What stands before the first entry: 64 zeros.
[[nodiscard]] const std::string& journal_origin();

// The text the hash covers: one JSON array (RFC 8259) without blanks,
//   ["frayhold-journal-1",number,"time","who","action","subject","details","previous_hash"]
// in UTF-8, only ", \ and control characters escaped; details stands as a string, byte for byte.
[[nodiscard]] std::string canonical_form(const JournalEntry& entry);

// SHA-256 of the canonical form, 64 lower-case hex digits.
[[nodiscard]] std::string hash_of(const JournalEntry& entry);

}  // namespace frayhold::record
