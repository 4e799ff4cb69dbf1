// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/store.h"

namespace frayhold::store {

struct Forgotten {
    std::string instead;                  // "Person 1 (name erased)": stands where the name stood
    std::int64_t rows = 0;                // changed, the journal's among them
    std::vector<std::int64_t> entries;    // journal entries changed
    std::int64_t entries_kept = 0;        // of the first form: their chain covers the name itself
    std::vector<std::string> kept_files;  // whose bytes hold the name: they stay as they were sent or came
};

// Within a writing transaction: takes a person's name out of every text of the store, where it stands as a
// whole word, but for marks and numbers by which rows are found. The journal's chain stays proved, since it
// covers names by salted seals (record/journal_entry.h), and so do the rows, which are sealed anew.
// `instead` is what takes the name's place. To be followed by a journal entry that tells of it.
[[nodiscard]] Forgotten forget_name(Store& store, const std::string& name, const std::string& instead);

// Before and after such a transaction: has the engine overwrite what is taken out, and empties its log, so
// that the name is in no file of the database either.
void overwrite_what_goes(Database& database);
void empty_the_log(Database& database);

// The text with the name replaced where no letter or digit stands beside it.
[[nodiscard]] std::string without_name(const std::string& text, const std::string& name,
                                       const std::string& instead);

}  // namespace frayhold::store
