// SPDX-License-Identifier: Apache-2.0
#include "record/journal_entry.h"

#include <nlohmann/json.hpp>

#include "photo/sha256.h"

namespace frayhold::record {

const std::string& journal_origin() {
    static const std::string zeros(64, '0');
    return zeros;
}

std::string canonical_form(const JournalEntry& entry) {
    const nlohmann::json form{"frayhold-journal-1", entry.number,  to_text(entry.time), entry.who,
                              entry.action,         entry.subject, entry.details,       entry.previous_hash};
    return form.dump();
}

std::string hash_of(const JournalEntry& entry) {
    const std::string form = canonical_form(entry);
    return photo::sha256_hex(std::as_bytes(std::span(form)));
}

}  // namespace frayhold::record
