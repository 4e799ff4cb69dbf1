// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "record/case_file.h"

namespace frayhold::desk {

// Days after which a reply is chased where nothing else is said. Common practice, no source.
inline constexpr int usual_reply_days = 14;

// A query the keeper wants made.
struct QueryOrder {
    std::string to;                      // the maker's address
    std::string from;                    // the keeper's address
    std::string language = "en";         // of the letter
    std::vector<std::string> questions;  // chosen from the letter's list, by their keys
    std::string own_words;
    int reply_days = usual_reply_days;
    std::string substance;  // the ink or cleaner that question "cleaner" is about
    std::string outfit;     // the keeper's; may be empty
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
    std::vector<std::string> answers_to;  // message ids of In-Reply-To and References, without angle brackets
    std::optional<Time> date;             // the sender's Date field
    std::string text;
    std::vector<ReadAttachment> attachments;
    bool automatic = false;
};

// Reads a raw message; `name` is for the words of an error. Throws Failure (Fault::input) where it is no
// message.
using ReplyReader = std::function<ReadReply(std::span<const std::byte> message, const std::string& name)>;

}  // namespace frayhold::desk
