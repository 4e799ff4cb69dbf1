// SPDX-License-Identifier: Apache-2.0
#include "record/journal_entry.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "language/tr.h"
#include "photo/sha256.h"

namespace frayhold::record {

std::string action_words(const std::string& action) {
    constexpr std::array<std::pair<std::string_view, const char*>, 36> known{
        {{"item.add", tr_later("item added")},
         {"item.edit", tr_later("item changed")},
         {"hold.open", tr_later("hold opened")},
         {"hold.ready", tr_later("evidence complete")},
         {"finding.add", tr_later("finding recorded")},
         {"photo.add", tr_later("photo added")},
         {"photo.mark", tr_later("photo marked by hand")},
         {"view.waive", tr_later("view waived")},
         {"query.make", tr_later("query made")},
         {"query.queue", tr_later("query put into the outbox")},
         {"query.try", tr_later("query not sent yet")},
         {"query.settle", tr_later("word given on a query")},
         {"query.withdraw", tr_later("query withdrawn")},
         {"query.send", tr_later("query sent")},
         {"mail.fetch", tr_later("mail fetched")},
         {"mail.set_aside", tr_later("mail set aside")},
         {"reply.add", tr_later("reply added")},
         {"answer.enter", tr_later("maker's answer entered")},
         {"batch.hold", tr_later("batch put on hold")},
         {"verdict.give", tr_later("verdict given")},
         {"maker.add", tr_later("maker added to the book")},
         {"maker.edit", tr_later("maker's entry changed")},
         {"kit.need", tr_later("need of a kit changed")},
         {"round.start", tr_later("round of checks begun")},
         {"round.end", tr_later("round of checks ended")},
         {"check.interval", tr_later("months between checks changed")},
         {"check.begin", tr_later("check begun")},
         {"check.step", tr_later("step of a check done")},
         {"check.felt", tr_later("stretch looked at and felt")},
         {"check.finding", tr_later("finding at a check recorded")},
         {"check.pause", tr_later("check paused")},
         {"check.resume", tr_later("check gone on with")},
         {"check.result", tr_later("result of a check given")},
         {"device.pair", tr_later("phone paired")},
         {"device.revoke", tr_later("phone shut out")},
         {"person.forget", tr_later("name erased")}}};
    const auto* const at =
        std::find_if(known.begin(), known.end(), [&](const auto& entry) { return entry.first == action; });
    return at == known.end() ? action : tr_word(at->second);
}

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
