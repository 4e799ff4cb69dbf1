// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "post/mailbox.h"
#include "units/date.h"

namespace frayhold::post {

struct OutgoingAttachment {
    std::string file_name;   // a plain name without a folder
    std::string media_type;  // "application/pdf"
    std::vector<std::byte> bytes;
};

// A query to a maker, before it becomes a message. Text is UTF-8.
struct QueryMail {
    Mailbox from;
    Mailbox to;
    std::string hold_number;  // "H-2026-0001": put into the subject, so that a reply can be placed by it
    std::string subject;      // without the hold number; one line
    Time date{};
    std::string message_id;  // without angle brackets; see message_id_for
    // Message-IDs of what this mail follows up (a reminder), the oldest first, without angle brackets.
    std::vector<std::string> references;
    std::string body;
    std::vector<OutgoingAttachment> attachments;
};

// "H-2026-0001.1.20260228T093000Z@korreltrees.example": unique for the query's turn within its hold, its time
// and the sender's domain. Throws Failure (Fault::input) where a part cannot stand in a Message-ID.
[[nodiscard]] std::string message_id_for(std::string_view hold_number, int turn, Time made,
                                         const Mailbox& from);

// The subject as it is sent: the hold number in brackets, then the words, unless the words name it already.
[[nodiscard]] std::string subject_of(const QueryMail& mail);

// The message (RFC 5322, MIME by RFC 2045 to 2049), lines ended by CRLF, ready for SMTP or an .eml file. The
// same mail gives the same bytes. Throws Failure (Fault::input) naming the field where one cannot be sent: a
// subject with line breaks, an empty body, an attachment without a plain name or with a media type that is
// none.
[[nodiscard]] std::vector<std::byte> message_of(const QueryMail& mail);

}  // namespace frayhold::post
