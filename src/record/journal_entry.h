// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>

#include "units/date.h"

namespace frayhold::record {

// One line of the append-only journal. Each entry's hash covers the one before it, so that a change to any
// entry shows in every later hash.
//
// The hash covers who and details through seals, SHA-256 values over a salt and the text, so that a person's
// name can be erased from both and the chain still be proved: the seals stay, and without the salt nobody can
// try names against them. An entry whose salt is gone was erased in part; its text is then no longer proved
// by its own seals but by the later entry that tells of the erasing.
struct JournalEntry {
    std::int64_t number = 0;  // 1, 2, 3, … without a gap
    Time time{};
    std::string who;
    std::string action;   // "hold.open"
    std::string subject;  // an item's mark or a hold's number
    std::string details;  // JSON text
    std::string previous_hash;
    std::string hash;
    std::string salt{};  // 32 random hex digits
    std::string who_seal{};
    std::string details_seal{};
    // What stood in the store's other tables when this was written: the last seal of rows
    // (store/row_seal.h).
    std::string rows{};

    // False for entries of the first form, which are covered without seals.
    [[nodiscard]] bool is_sealed() const { return !who_seal.empty(); }
    [[nodiscard]] bool is_erased() const { return is_sealed() && salt.empty(); }

    bool operator==(const JournalEntry&) const = default;
};

// What an entry's action is called for a person: "hold opened". One that this version does not know is called
// by its name.
[[nodiscard]] std::string action_words(const std::string& action);

// What stands before the first entry: 64 zeros.
[[nodiscard]] const std::string& journal_origin();

// The text the hash covers: one JSON array (RFC 8259) without blanks,
//   ["frayhold-journal-2",number,"time","who_seal","action","subject","details_seal","rows","previous_hash"]
// in UTF-8, only ", \ and control characters escaped; in entries of the first form
//   ["frayhold-journal-1",number,"time","who","action","subject","details","previous_hash"]
// with details as a string, byte for byte.
[[nodiscard]] std::string canonical_form(const JournalEntry& entry);

// SHA-256 of the canonical form, 64 lower-case hex digits.
[[nodiscard]] std::string hash_of(const JournalEntry& entry);

// SHA-256 of the JSON array ["salt","text"], written as above.
[[nodiscard]] std::string seal_of(const std::string& salt, const std::string& text);

// Whether who and details are what the seals were made of; true for an erased entry and one of the first
// form.
[[nodiscard]] bool fits_its_seals(const JournalEntry& entry);

}  // namespace frayhold::record
