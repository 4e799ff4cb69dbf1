// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "post/reply_mail.h"

namespace frayhold::post {

// What a mail says of the hold it belongs to, the more telling first.
struct HoldClues {
    std::vector<std::string> in_reply_to{};   // Message-IDs; for a delivery report, of the mail it is about
    std::vector<std::string> references{};    // Message-IDs, the newest first
    std::vector<std::string> hold_numbers{};  // that stand as words in the subject or behind the + of an
                                              // address it went to ("ida+h-2026-0001@..."), in capitals
};

[[nodiscard]] HoldClues hold_clues(const ReplyMail& reply);

enum class MatchedBy { in_reply_to, references, number };

struct Match {
    std::string hold_number;
    MatchedBy by = MatchedBy::in_reply_to;

    bool operator==(const Match&) const = default;
};

// The hold of the query with a Message-ID; empty where none is known.
using HoldOfQuery = std::function<std::optional<std::string>(const std::string& message_id)>;
// Whether there is a hold of that number that a query was made for.
using IsAskedHold = std::function<bool(const std::string& hold_number)>;

// The hold a mail belongs to: by In-Reply-To, then by References, then by a hold's number. Empty where
// nothing fits, or where one of these ways points to more than one hold: then a person places it.
[[nodiscard]] std::optional<Match> match(const HoldClues& clues, const HoldOfQuery& hold_of_query,
                                         const IsAskedHold& is_asked_hold);

}  // namespace frayhold::post
