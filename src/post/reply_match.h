// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <span>
#include <string>

#include "post/reply_mail.h"

namespace frayhold::post {

// A query that went out and may be answered.
struct SentQuery {
    std::string hold_number;
    std::string message_id;  // without angle brackets
};

enum class MatchedBy {
    in_reply_to,  // or, for a delivery report, the mail it is about
    references,
    subject,
};

struct Match {
    std::string hold_number;
    MatchedBy by = MatchedBy::in_reply_to;
};

// The hold a mail belongs to: by In-Reply-To, then by References (the newest first), then by a hold number
// that stands in the subject as a word of its own. Empty where nothing fits, or where one of these ways
// points to more than one hold: then a person places it.
[[nodiscard]] std::optional<Match> match(const ReplyMail& reply, std::span<const SentQuery> sent);

}  // namespace frayhold::post
