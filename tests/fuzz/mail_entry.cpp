// SPDX-License-Identifier: Apache-2.0
#include "fuzz/demand.h"
#include "post/reply_mail.h"
#include "post/reply_match.h"
#include "record/text.h"

namespace frayhold::fuzz {

void read_mail(Bytes bytes) {
    try {
        const post::ReplyMail mail = post::parse_reply(bytes, "m.eml");
        demand(record::is_plain_text(mail.text) && record::is_plain_text(mail.subject),
               "a mail's words are plain text");
        for (const post::IncomingAttachment& attachment : mail.attachments)
            demand(attachment.file_name.find('/') == std::string::npos && !attachment.file_name.empty(),
                   "an attachment's name stays in its folder");
        static_cast<void>(post::hold_clues(mail));
    } catch (const Failure& failure) {
        demand_words(failure.error());
    }
}

}  // namespace frayhold::fuzz
