// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "desk/listing.h"
#include "language/later.h"

namespace frayhold::desk {

// What is to be done where the maker has not answered in the usual time; tr_word shows it. Common practice,
// no source.
inline constexpr std::string_view unanswered_advice = tr_later(
    "Remind the maker. Treat the item as one to retire unless the answer comes: silence is never a pass.");

// The days on which replies are due as a calendar file (RFC 5545): one entry for each hold, which a later
// file changes.
[[nodiscard]] std::string calendar_of(std::span<const DueReply> awaited, Time made);

}  // namespace frayhold::desk
