// SPDX-License-Identifier: Apache-2.0
#include "record/journal_entry.h"

#include <nlohmann/json.hpp>

#include "photo/sha256.h"

namespace frayhold::record {

const std::string& journal_origin() {
    static const std::string zeros(64, '0');
    return zeros;
}

namespace {

std::string sha256_of(const nlohmann::json& form) {
    const std::string text = form.dump();
    return photo::sha256_hex(std::as_bytes(std::span(text)));
}

nlohmann::json form_of(const JournalEntry& entry) {
    if (entry.is_sealed())
        return {"frayhold-journal-2", entry.number, to_text(entry.time),
                entry.who_seal,       entry.action, entry.subject,
                entry.details_seal,   entry.rows,   entry.previous_hash};
    return {"frayhold-journal-1", entry.number,  to_text(entry.time), entry.who,
            entry.action,         entry.subject, entry.details,       entry.previous_hash};
}

}  // namespace

std::string canonical_form(const JournalEntry& entry) {
    return form_of(entry).dump();
}

std::string hash_of(const JournalEntry& entry) {
    return sha256_of(form_of(entry));
}

std::string seal_of(const std::string& salt, const std::string& text) {
    return sha256_of({salt, text});
}

bool fits_its_seals(const JournalEntry& entry) {
    if (!entry.is_sealed() || entry.is_erased()) return true;
    return entry.who_seal == seal_of(entry.salt, entry.who) &&
           entry.details_seal == seal_of(entry.salt, entry.details);
}

}  // namespace frayhold::record
