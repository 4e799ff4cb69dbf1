// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "record/posting.h"
#include "units/date.h"

namespace frayhold::record {

// A query to the maker: exactly what was made and, once sent, when.
struct Query {
    int number = 0;  // 1, 2, 3, … within its hold; given by the store
    std::string hold;
    std::string to;          // the address it goes to
    std::string subject;     // decoded, as a person reads it
    std::string message_id;  // RFC 5322, without angle brackets
    std::string sha256;      // of the message's exact bytes, kept in the store
    std::string made_by;
    Time made{};
    std::optional<Time> sent;
    std::string sent_by;
    std::optional<Date> reply_due;   // the maker's usual time after sending
    std::optional<Posting> posting;  // where it was given to the outbox

    bool operator==(const Query&) const = default;
};

struct Attachment {
    std::string file_name;   // made safe: no folder, no control characters
    std::string media_type;  // "image/jpeg"
    std::int64_t size_bytes = 0;
    std::string sha256;

    bool operator==(const Attachment&) const = default;
};

// The maker's answer in fixed terms. A person reads the reply and enters it; nothing is guessed from the
// text.
enum class MakersAnswer { fit, fit_with_limit, not_fit, send_it_in, cannot_say };

struct AnswerEntry {
    MakersAnswer answer = MakersAnswer::cannot_say;
    std::string limit;  // with fit_with_limit
    std::string words;  // the passage it was read from
    std::string entered_by;
    Time entered{};

    bool operator==(const AnswerEntry&) const = default;
};

// How a reply came.
enum class ReplyWay {
    mail,
    pasted,  // its words, copied by a person from elsewhere
    phone,   // a call, noted by a person
};

// A message that came in, kept whole.
struct Reply {
    int number = 0;  // 1, 2, 3, … within its hold; given by the store
    std::string hold;
    std::string from;
    std::string subject;
    std::string message_id;
    Time received{};
    ReplyWay way = ReplyWay::mail;
    std::string sha256;  // of the raw message, or of the words a person entered
    std::string text;    // plain text for reading
    std::vector<Attachment> attachments;
    bool automatic = false;  // an absence notice or a bounce (RFC 3834, RFC 3464): not an answer
    // What a bounce says of the query it is about (RFC 3464), in one line; empty for any other message.
    std::string delivery;
    std::string added_by;
    std::optional<AnswerEntry> answer;

    bool operator==(const Reply&) const = default;
};

[[nodiscard]] std::string_view name_of(MakersAnswer answer);
[[nodiscard]] std::optional<MakersAnswer> makers_answer_named(std::string_view name);
[[nodiscard]] std::string words_for(MakersAnswer answer);
[[nodiscard]] const std::vector<MakersAnswer>& all_makers_answers();

[[nodiscard]] std::string_view name_of(ReplyWay way);
[[nodiscard]] std::optional<ReplyWay> reply_way_named(std::string_view name);
[[nodiscard]] std::string words_for(ReplyWay way);

}  // namespace frayhold::record
