// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "post/mailbox.h"
#include "units/date.h"

namespace frayhold::post {

struct IncomingAttachment {
    std::string file_name;   // safe: see safe_file_name.h; no two alike in one mail
    std::string media_type;  // as the sender says, lower case: "image/jpeg"
    std::vector<std::byte> bytes;
};

enum class ReplyKind {
    answer,           // written by a person, as far as the mail tells
    automatic,        // an absence notice or another automatic reply: not an answer
    delivery_report,  // a bounce or a delay notice (RFC 3464): not an answer
};

// What a delivery report says of the mail it is about (RFC 3464, 2.2 and 2.3). Empty where it says nothing.
struct DeliveryReport {
    std::string action;     // "failed", "delayed", "delivered", "relayed", "expanded"
    std::string status;     // "5.1.1" (RFC 3463)
    std::string recipient;  // the address that was not, or was, reached
    std::string reason;     // the other server's words
    std::string original_message_id;
};

// A mail as a person reads it. Text is valid UTF-8; Message-IDs stand without angle brackets.
struct ReplyMail {
    Mailbox from;  // empty where the mail names no sender
    std::vector<Mailbox> to;
    std::string subject;
    std::optional<Time> date;  // as the sender's clock had it
    std::string message_id;
    std::vector<std::string> in_reply_to;
    std::vector<std::string> references;  // the oldest first
    std::string text;                     // the body, lines ended by \n
    bool text_from_html = false;          // the sender gave only HTML: reduced to its words
    bool text_cut = false;                // longer than the limit: the rest is in the stored mail
    std::vector<IncomingAttachment> attachments;
    ReplyKind kind = ReplyKind::answer;
    std::optional<DeliveryReport> delivery;  // with delivery_report
};

struct MailLimits {
    std::size_t max_bytes = 60'000'000;
    int max_nesting = 24;  // multiparts and messages within one another
    int max_parts = 500;   // leaves and branches
    int max_header_lines = 5'000;
    std::size_t max_text_bytes = 1'000'000;
};

// Reads one message (RFC 5322 with MIME; a leading mbox "From " line is allowed). `name` is only for the
// words of an error. Nothing in a mail is trusted, run or fetched. Throws Failure (Fault::input) in plain
// words: empty, too large, no mail at all, nested too deep, too many parts.
//
// A mail counts as automatic by Auto-Submitted other than "no" (RFC 3834, 5), by the disposition notice of
// RFC 8098, by an empty Return-Path (RFC 3834, 3.3), or by Precedence bulk, junk or auto_reply (common
// practice, no standard). It is advice to the person who reads it: the text is kept either way.
[[nodiscard]] ReplyMail parse_reply(std::span<const std::byte> message, const std::string& name,
                                    const MailLimits& limits = {});

}  // namespace frayhold::post
