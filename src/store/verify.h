// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace frayhold::store {

class Store;

// Something that is not as it was written.
struct VerifyFault {
    std::string where;  // "journal entry 17", "originals/ab/abcd…", "table hold"
    std::string what;
    std::string mend;
};

struct VerifyReport {
    // In the order schema, database, journal, rows, words of items, records, kept files; within each the
    // first wrong entry first. Empty where all is well.
    std::vector<VerifyFault> faults;
    std::vector<std::string> notes;  // harmless: a kept file that nothing refers to
    std::int64_t journal_entries = 0;
    std::string journal_head;  // the last entry's hash
    std::int64_t kept_files = 0;
    std::int64_t sealed_rows = 0;
    // The entry whose hash is the head that was asked about, where the chain holds up to it.
    std::optional<std::int64_t> proved_up_to;

    [[nodiscard]] bool is_sound() const { return faults.empty(); }
};

// Checks the schema against the one this program makes, the database's own structure, its foreign keys, the
// journal's chain of hashes, every row of every table against its seal (row_seal.h), the words items are
// found by, that states agree (an item is on hold exactly while it has a running hold, a hold is over exactly
// when it has a verdict), and the SHA-256 of every kept file. Changes nothing.
//
// `head` is a journal head of an earlier day, kept where nobody can change it: on paper, with the maker.
// Where it is an entry's hash, nothing up to that entry was changed since; where it is none, the journal was
// cut or changed, and that is a fault. Empty: nothing is asked about.
[[nodiscard]] VerifyReport verify(const Store& store, const std::string& head = "");

}  // namespace frayhold::store
