// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "post/reply_match.h"
#include "record/case_file.h"

namespace frayhold::desk {

// Days after which a reply is chased where nothing else is said. Common practice, no source.
inline constexpr int usual_reply_days = 14;
inline constexpr int most_reply_days = 366;

// A query the keeper wants made. What may stand in the maker's book may be left empty here.
struct QueryOrder {
    std::string to;                      // the maker's address; in the book
    std::string from;                    // the keeper's address
    std::string language;                // of the letter; in the book, else "en"
    std::vector<std::string> questions;  // chosen from the letter's list, by their keys
    std::string own_words;
    std::optional<int> reply_days;  // in the book, else usual_reply_days
    std::string substance;          // the ink or cleaner that question "cleaner" is about
    std::string outfit;             // the keeper's; may be empty
    // What the whole mail may weigh as it is sent; in the book, else what is usual (pack/evidence_pack.h).
    std::optional<std::int64_t> mail_limit_bytes;
    // A reminder: a short letter without attachments that follows up what was sent.
    bool reminder = false;
};

// The message as it will be sent.
struct ComposedQuery {
    std::vector<std::byte> message;  // RFC 5322
    std::string message_id;          // without angle brackets
    std::string subject;
};

// Gives the bytes kept under a SHA-256.
using KeptBytes = std::function<std::vector<std::byte>(const std::string& sha256)>;

// Makes the message from the case. `who` asks, `now` dates it: nothing else may enter, so that it can be made
// again.
using QueryComposer = std::function<ComposedQuery(const record::CaseFile& file, const QueryOrder& order,
                                                  const KeptBytes& bytes, const std::string& who, Time now)>;

// A reply that came as words alone.
struct WordsOrder {
    record::ReplyWay way = record::ReplyWay::pasted;
    std::string from;  // whose words: an address, or the name of the person on the telephone
    std::string text;
    std::optional<Time> received;  // now where empty
};

struct ReadAttachment {
    std::string file_name;
    std::string media_type;
    std::vector<std::byte> bytes;
};

// A message as read: what the mail layer makes of a raw RFC 5322 message.
struct ReadReply {
    std::string from;
    std::string subject;
    std::string message_id;
    post::HoldClues clues;     // which hold it belongs to
    std::optional<Time> date;  // the sender's Date field
    std::string text;
    std::vector<ReadAttachment> attachments;
    bool automatic = false;
    std::string delivery;  // of a bounce: what it says, in one line
};

// Reads a raw message; `name` is for the words of an error. Throws Failure (Fault::input) where it is no
// message.
using ReplyReader = std::function<ReadReply(std::span<const std::byte> message, const std::string& name)>;

}  // namespace frayhold::desk
