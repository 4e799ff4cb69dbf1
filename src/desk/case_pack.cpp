// SPDX-License-Identifier: Apache-2.0
#include "desk/case_pack.h"

#include "desk/usual_setup.h"
#include "post/mailbox.h"
#include "post/query_mail.h"

namespace frayhold::desk {

pack::PackOrder pack_order(const record::CaseFile& file, const LetterOrder& order, const KeptBytes& bytes,
                           Time made) {
    pack::PackOrder out;
    out.letter.file = file;
    out.letter.questions = order.questions;
    out.letter.substance = order.substance;
    out.letter.own_words = order.own_words;
    out.letter.keeper = order.keeper;
    out.letter.outfit = order.outfit;
    out.letter.reply_by = order.reply_by;
    out.language = pack::load_letter_template(shipped_folders("templates/letters"), order.language);
    out.kept_bytes = bytes;
    out.made = made;
    return out;
}

ComposedQuery compose_query(const record::CaseFile& file, const QueryOrder& order, const KeptBytes& bytes,
                            const std::string& who, Time now) {
    post::QueryMail mail;
    mail.from = post::parse_mailbox(order.from, "from");
    mail.to = post::parse_mailbox(order.to, "to");
    const Date reply_by(std::chrono::floor<std::chrono::days>(now) + std::chrono::days(order.reply_days));
    pack::EvidencePack pack = pack::make_evidence_pack(pack_order(file,
                                                                  {.language = order.language,
                                                                   .questions = order.questions,
                                                                   .substance = order.substance,
                                                                   .own_words = order.own_words,
                                                                   .keeper = who,
                                                                   .outfit = order.outfit,
                                                                   .reply_by = reply_by},
                                                                  bytes, now));
    if (!pack.letter)
        throw Failure(Fault::usage, "question", "nothing is asked",
                      "choose a question or write your own words");
    mail.hold_number = file.hold.number;
    mail.subject = pack.letter->subject;
    mail.body = pack.letter->body;
    mail.date = now;
    const int turn = static_cast<int>(file.queries.size()) + 1;
    mail.message_id = post::message_id_for(file.hold.number, turn, now, mail.from);
    for (pack::MailAttachment& attachment : pack.attachments)
        mail.attachments.push_back(
            {std::move(attachment.file_name), std::move(attachment.media_type), std::move(attachment.bytes)});
    return {post::message_of(mail), mail.message_id, post::subject_of(mail)};
}

}  // namespace frayhold::desk
