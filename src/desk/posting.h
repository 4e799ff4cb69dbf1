// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "post/imap.h"
#include "post/smtp.h"
#include "record/correspondence.h"
#include "record/unplaced.h"
#include "units/date.h"
#include "units/error.h"

namespace frayhold::desk {

// Sends a kept message to an address, calling the steps as post/smtp.h says. What it throws is taken for a
// fault of the account: nothing was handed over unless a step said so.
using MessageSender = std::function<post::SmtpResult(
    const std::string& to, std::span<const std::byte> message, const post::SmtpSteps& steps)>;

// A mail folder that replies are fetched from.
struct ReplyFolder {
    std::string address;  // by which the store remembers how far it is read
    std::function<void(const post::FetchOrder& order, const std::function<void(post::FetchedMail)>& take)>
        fetch;
};

// Which query of which hold.
struct OutboxQuery {
    std::string hold;
    int query = 0;
};

// A query in the outbox.
struct OutboxLine {
    std::string hold;
    record::Query query;  // its posting is there
};

// What one run of the outbox did.
struct OutboxRun {
    std::vector<OutboxLine> tried;      // as they stand now
    std::vector<OutboxLine> left_over;  // found half done, from a program that ended: now waiting or unsure
    std::optional<Error> stopped;       // the account is in the way: the rest still waits
};

// What a person says of a query that is unsure or refused.
enum class PostDecision {
    was_sent,    // it reached the maker
    send_again,  // it goes out once more, under the same Message-ID
};

// What one fetching of replies brought.
struct InboxRun {
    std::vector<record::Reply> placed;
    std::vector<record::UnplacedMail> unplaced;
    int known = 0;  // mails that were kept already
};

}  // namespace frayhold::desk
