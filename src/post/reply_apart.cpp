// SPDX-License-Identifier: Apache-2.0
#include "post/reply_apart.h"

#include <cstdint>
#include <nlohmann/json.hpp>

#include "post/mime_handles.h"
#include "units/error.h"

// What was read comes back through the pipe as CBOR (RFC 8949).
namespace frayhold::post {
namespace {

using Json = nlohmann::json;

Json as_json(const Mailbox& mailbox) {
    return {mailbox.name, mailbox.address};
}

Json binary(const std::vector<std::byte>& bytes) {
    const auto* from = reinterpret_cast<const std::uint8_t*>(bytes.data());
    return Json::binary({from, from + bytes.size()});
}

Json as_json(const ReplyMail& mail) {
    Json to = Json::array();
    for (const Mailbox& mailbox : mail.to) to.push_back(as_json(mailbox));
    Json attachments = Json::array();
    for (const IncomingAttachment& attachment : mail.attachments)
        attachments.push_back({attachment.file_name, attachment.media_type, binary(attachment.bytes)});
    Json delivery;
    if (mail.delivery)
        delivery = {mail.delivery->action, mail.delivery->status, mail.delivery->recipient,
                    mail.delivery->reason, mail.delivery->original_message_id};
    Json date;
    if (mail.date) date = mail.date->time_since_epoch().count();
    return {{"from", as_json(mail.from)},
            {"to", to},
            {"subject", mail.subject},
            {"date", date},
            {"message_id", mail.message_id},
            {"in_reply_to", mail.in_reply_to},
            {"references", mail.references},
            {"text", mail.text},
            {"text_from_html", mail.text_from_html},
            {"text_cut", mail.text_cut},
            {"attachments", attachments},
            {"kind", static_cast<int>(mail.kind)},
            {"delivery", delivery}};
}

Mailbox mailbox_from(const Json& json) {
    return {json.at(0).get<std::string>(), json.at(1).get<std::string>()};
}

std::vector<std::byte> bytes_from(const Json& json) {
    const auto& binary = json.get_binary();
    const auto* from = reinterpret_cast<const std::byte*>(binary.data());
    return {from, from + binary.size()};
}

ReplyKind kind_from(int value) {
    switch (value) {
        case static_cast<int>(ReplyKind::answer):
            return ReplyKind::answer;
        case static_cast<int>(ReplyKind::delivery_report):
            return ReplyKind::delivery_report;
        default:
            return ReplyKind::automatic;
    }
}

ReplyMail mail_from(const Json& json) {
    ReplyMail mail;
    mail.from = mailbox_from(json.at("from"));
    for (const Json& mailbox : json.at("to")) mail.to.push_back(mailbox_from(mailbox));
    mail.subject = json.at("subject").get<std::string>();
    if (!json.at("date").is_null())
        mail.date = Time(std::chrono::seconds(json.at("date").get<std::int64_t>()));
    mail.message_id = json.at("message_id").get<std::string>();
    mail.in_reply_to = json.at("in_reply_to").get<std::vector<std::string>>();
    mail.references = json.at("references").get<std::vector<std::string>>();
    mail.text = json.at("text").get<std::string>();
    mail.text_from_html = json.at("text_from_html").get<bool>();
    mail.text_cut = json.at("text_cut").get<bool>();
    for (const Json& attachment : json.at("attachments"))
        mail.attachments.push_back({attachment.at(0).get<std::string>(), attachment.at(1).get<std::string>(),
                                    bytes_from(attachment.at(2))});
    mail.kind = kind_from(json.at("kind").get<int>());
    if (const Json& delivery = json.at("delivery"); !delivery.is_null())
        mail.delivery = {delivery.at(0).get<std::string>(), delivery.at(1).get<std::string>(),
                         delivery.at(2).get<std::string>(), delivery.at(3).get<std::string>(),
                         delivery.at(4).get<std::string>()};
    return mail;
}

// What the child has to say: a mail, or why there is none.
Json read_by(const MailParser& parse, std::span<const std::byte> message, const std::string& name,
             const MailLimits& limits) {
    try {
        return {{"mail", as_json(parse(message, name, limits))}};
    } catch (const Failure& failure) {
        return {{"what", failure.error().what}, {"mend", failure.error().mend}};
    }
}

}  // namespace

photo::ApartLimits usual_apart_limits() {
    photo::ApartLimits limits;
    limits.child.may_read_files = true;
    return limits;
}

ReplyMail parse_apart_with(const MailParser& parse, std::span<const std::byte> message,
                           const std::string& name, const MailLimits& limits,
                           const photo::ApartLimits& apart) {
    start_mime();
    photo::ApartLimits with_room = apart;
    with_room.most_answer_bytes = 2 * limits.max_bytes + 8 * limits.max_text_bytes;
    const photo::ApartResult result = photo::run_apart(
        [&](photo::ApartVoice& voice) {
            const std::vector<std::uint8_t> words = Json::to_cbor(read_by(parse, message, name, limits));
            voice.say(std::as_bytes(std::span(words)));
        },
        with_room);
    if (result.end == photo::ApartEnd::not_started)
        throw Failure(Fault::outside, name, "a process of its own to read it could not be started",
                      "close other programs and try again");
    if (result.end != photo::ApartEnd::done)
        throw Failure(Fault::input, name, "reading it took too much time or memory, or broke the reader",
                      "open it in a mail program and enter its words by hand");
    const auto* words = reinterpret_cast<const std::uint8_t*>(result.words.data());
    const Json said = Json::from_cbor(words, words + result.words.size(), true, false);
    try {
        if (said.contains("mail")) return mail_from(said.at("mail"));
        throw Failure(Fault::input, name, said.at("what").get<std::string>(),
                      said.at("mend").get<std::string>());
    } catch (const Json::exception&) {
        throw Failure(Fault::input, name, "its reader broke",
                      "open it in a mail program and enter its words by hand");
    }
}

ReplyMail parse_reply_apart(std::span<const std::byte> message, const std::string& name,
                            const MailLimits& limits, const photo::ApartLimits& apart) {
    return parse_apart_with(parse_reply, message, name, limits, apart);
}

}  // namespace frayhold::post
