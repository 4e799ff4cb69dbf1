// SPDX-License-Identifier: Apache-2.0
#include "desk/case_pack.h"

#include "desk/in_language.h"
#include "desk/shipped.h"
#include "language/tr.h"
#include "post/mailbox.h"
#include "post/query_mail.h"

namespace frayhold::desk {

namespace {

// What attachments may come to so that the mail stays within its limit: base64 makes 78 bytes of 57 (RFC
// 2045, 6.8), and the letter and the fields need some room.
std::size_t before_coding(std::int64_t mail_limit_bytes) {
    constexpr std::int64_t room_bytes = 50'000;
    constexpr std::int64_t plain_bytes = 57;
    constexpr std::int64_t coded_bytes = 78;
    return static_cast<std::size_t>((mail_limit_bytes - room_bytes) * plain_bytes / coded_bytes);
}

pack::LetterInput letter_input(const record::CaseFile& file, const LetterOrder& order) {
    pack::LetterInput input;
    input.file = file;
    input.questions = order.questions;
    input.substance = order.substance;
    input.own_words = order.own_words;
    input.keeper = order.keeper;
    input.outfit = order.outfit;
    input.reply_by = order.reply_by;
    return input;
}

// Follows up everything that was sent, the last of it first in the reader's eyes.
void make_reminder(post::QueryMail& mail, const record::CaseFile& file, const LetterOrder& order) {
    const pack::LetterTemplate language =
        pack::load_letter_template(shipped_folders("templates/letters"), order.language);
    const pack::Letter letter = pack::write_reminder(letter_input(file, order), language);
    mail.subject = letter.subject;
    mail.body = letter.body;
    for (const record::Query& query : file.queries)
        if (query.sent) mail.references.push_back(query.message_id);
}

void make_case_mail(post::QueryMail& mail, const record::CaseFile& file, const LetterOrder& order,
                    const KeptBytes& bytes, Time now) {
    pack::EvidencePack pack = pack::make_evidence_pack(pack_order(file, order, bytes, now));
    if (!pack.letter)
        throw Failure(Fault::usage, tr("question"), "nothing is asked",
                      "choose a question or write your own words");
    mail.subject = pack.letter->subject;
    mail.body = pack.letter->body;
    for (pack::MailAttachment& attachment : pack.attachments)
        mail.attachments.push_back(
            {std::move(attachment.file_name), std::move(attachment.media_type), std::move(attachment.bytes)});
}

}  // namespace

pack::PackOrder pack_order(const record::CaseFile& file, const LetterOrder& order, const KeptBytes& bytes,
                           Time made) {
    pack::PackOrder out;
    out.letter = letter_input(file, order);
    out.language = pack::load_letter_template(shipped_folders("templates/letters"), order.language);
    out.kept_bytes = bytes;
    out.made = made;
    if (order.mail_limit_bytes) out.most_mail_bytes = before_coding(*order.mail_limit_bytes);
    return out;
}

pack::EvidencePack case_pack(const pack::PackOrder& order, language::Languages* languages) {
    return in_language(languages, order.language.language, [&] { return pack::make_evidence_pack(order); });
}

ComposedQuery compose_query(const record::CaseFile& file, const QueryOrder& order, const KeptBytes& bytes,
                            const std::string& who, Time now) {
    post::QueryMail mail;
    mail.from = post::parse_mailbox(order.from, "from");
    mail.to = post::parse_mailbox(order.to, "to");
    const Date reply_by(std::chrono::floor<std::chrono::days>(now) +
                        std::chrono::days(order.reply_days.value_or(usual_reply_days)));
    const LetterOrder letter{.language = order.language,
                             .questions = order.questions,
                             .substance = order.substance,
                             .own_words = order.own_words,
                             .keeper = who,
                             .outfit = order.outfit,
                             .reply_by = reply_by,
                             .mail_limit_bytes = order.mail_limit_bytes};
    mail.hold_number = file.hold.number;
    mail.date = now;
    const int turn = static_cast<int>(file.queries.size()) + 1;
    mail.message_id = post::message_id_for(file.hold.number, turn, now, mail.from);
    if (order.reminder)
        make_reminder(mail, file, letter);
    else
        make_case_mail(mail, file, letter, bytes, now);
    return {post::message_of(mail), mail.message_id, post::subject_of(mail)};
}

}  // namespace frayhold::desk
