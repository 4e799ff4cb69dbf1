// SPDX-License-Identifier: Apache-2.0
#include "desk/desk.h"

#include "desk/inside.h"
#include "store/journal.h"

namespace frayhold::desk {

Desk::Desk(Setup setup) : inside_(std::make_unique<Inside>(std::move(setup))) {}
Desk::~Desk() = default;
Desk::Desk(Desk&&) noexcept = default;
Desk& Desk::operator=(Desk&&) noexcept = default;

Time Desk::now() const {
    return inside_->now();
}

Date Desk::today() const {
    return day_of(inside_->now());
}

std::vector<record::JournalEntry> Desk::journal(const JournalFilter& filter) const {
    return store::search_journal(
        inside_->database(),
        {.subject = filter.subject, .action = filter.action, .after = filter.after, .limit = filter.limit});
}

std::vector<std::byte> Desk::kept_bytes(const std::string& sha256) const {
    return inside_->store.blobs().read(sha256);
}

VerifyReport Desk::verify(const std::string& head) const {
    return store::verify(inside_->store, head);
}

}  // namespace frayhold::desk
