// SPDX-License-Identifier: Apache-2.0
#include "post/query_mail.h"

#include <fmt/format.h>

#include <algorithm>

#include "language/tr.h"
#include "photo/sha256.h"
#include "post/characters.h"
#include "post/mime_handles.h"
#include "post/safe_file_name.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

std::span<const std::byte> bytes_of(std::string_view text) {
    return {reinterpret_cast<const std::byte*>(text.data()), text.size()};
}

bool has_control(std::string_view text) {
    return std::any_of(text.begin(), text.end(),
                       [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
}

bool token(std::string_view text, std::string_view signs) {
    return !text.empty() && std::all_of(text.begin(), text.end(), [&](char c) {
        return g_ascii_isalnum(c) != 0 || signs.find(c) != std::string_view::npos;
    });
}

// One @ with a word on either side: what RFC 5322, 3.6.4 calls a msg-id, without angle brackets.
bool plain_message_id(std::string_view id) {
    const std::size_t at = id.find('@');
    constexpr std::string_view signs = "!#$%&'*+-/=?^_`{|}~.";
    return at != std::string_view::npos && token(id.substr(0, at), signs) && token(id.substr(at + 1), signs);
}

void demand_sendable(const QueryMail& mail) {
    const auto refuse = [](const char* field, const char* what, const char* mend) {
        throw Failure(Fault::input, field, what, mend);
    };
    if (mail.hold_number.empty() || has_control(mail.hold_number))
        refuse(tr_later("hold number"), "the mail names no hold",
               "give the number as it stands in the list of holds");
    if (mail.subject.empty() || has_control(mail.subject))
        refuse(tr_later("subject"), "it must be one line of text", "write a few words without line breaks");
    if (mail.body.find_first_not_of(" \t\r\n") == std::string::npos)
        refuse(tr_later("letter"), "it is empty", "write what you want to ask");
    if (!plain_message_id(mail.message_id))
        refuse("Message-ID", "it is not of the form name@domain", "let the program make it");
    for (const std::string& id : mail.references)
        if (!plain_message_id(id))
            refuse("References", "one is not of the form name@domain", "leave out what is not a Message-ID");
    for (const OutgoingAttachment& attachment : mail.attachments) {
        if (safe_file_name(attachment.file_name, "") != attachment.file_name || attachment.file_name.empty())
            throw Failure(Fault::input, trf("attachment “{}”", valid_text(attachment.file_name)),
                          "its name cannot be used on every computer",
                          "use letters, digits, dots and dashes");
        const std::size_t slash = attachment.media_type.find('/');
        constexpr std::string_view signs = "!#$&-^_.+";
        if (slash == std::string::npos || !token(attachment.media_type.substr(0, slash), signs) ||
            !token(attachment.media_type.substr(slash + 1), signs))
            throw Failure(Fault::input, trf("attachment “{}”", attachment.file_name),
                          "its media type is not of the form type/subtype", "use one like application/pdf");
    }
}

// With CRLF line ends and one at its very end, as a text part stands in a message.
std::string canonical_lines(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n') continue;
        if (text[i] == '\n' || text[i] == '\r') {
            out += "\r\n";
        } else {
            out += text[i];
        }
    }
    if (!out.ends_with("\r\n")) out += "\r\n";
    return out;
}

Held<GMimePart> part_of(const char* type, const char* subtype, std::span<const std::byte> bytes,
                        GMimeContentEncoding encoding) {
    Held<GMimePart> part(g_mime_part_new_with_type(type, subtype));
    const Held<GMimeStream> stream = reading_stream(bytes);
    const Held<GMimeDataWrapper> content(
        g_mime_data_wrapper_new_with_stream(stream.get(), GMIME_CONTENT_ENCODING_DEFAULT));
    g_mime_part_set_content(part.get(), content.get());
    g_mime_part_set_content_encoding(part.get(), encoding);
    return part;
}

void add_mailbox(GMimeMessage* message, GMimeAddressType type, const std::string& name,
                 const std::string& address) {
    const Held<InternetAddress> mailbox(
        internet_address_mailbox_new(name.empty() ? nullptr : valid_text(name).c_str(), address.c_str()));
    internet_address_set_charset(mailbox.get(), "utf-8");
    internet_address_list_add(g_mime_message_get_addresses(message, type), mailbox.get());
}

// As both the disposition's filename (RFC 2183) and the older name of the content type.
void set_file_name(GMimePart* part, const std::string& name) {
    auto* object = GMIME_OBJECT(part);
    g_mime_object_set_disposition(object, GMIME_DISPOSITION_ATTACHMENT);
    g_mime_part_set_filename(part, name.c_str());
    GMimeParamList* of_disposition =
        g_mime_content_disposition_get_parameters(g_mime_object_get_content_disposition(object));
    GMimeParamList* of_type = g_mime_content_type_get_parameters(g_mime_object_get_content_type(object));
    g_mime_param_set_charset(g_mime_param_list_get_parameter(of_disposition, "filename"), "utf-8");
    g_mime_param_set_charset(g_mime_param_list_get_parameter(of_type, "name"), "utf-8");
}

void add(GMimeMultipart* parts, GMimePart* part) {
    g_mime_multipart_add(parts, GMIME_OBJECT(part));
}

// Depends on everything in the mail; "=_" occurs in neither quoted-printable nor base64 text.
std::string boundary_for(const QueryMail& mail, std::string_view body) {
    photo::Sha256 digest;
    digest.add(bytes_of(mail.message_id));
    digest.add(bytes_of(body));
    for (const OutgoingAttachment& attachment : mail.attachments) {
        digest.add(bytes_of(attachment.file_name));
        digest.add(attachment.bytes);
    }
    return "=_" + digest.hex().substr(0, 40);
}

}  // namespace

std::string message_id_for(std::string_view hold_number, int turn, Time made, const Mailbox& from) {
    std::string stamp = frayhold::to_text(made);
    std::erase_if(stamp, [](char c) { return c == '-' || c == ':'; });
    const std::string domain = from.address.substr(from.address.find('@') + 1);
    std::string id = fmt::format("{}.{}.{}@{}", hold_number, turn, stamp, domain);
    if (!plain_message_id(id))
        throw Failure(Fault::input, "Message-ID",
                      "the hold number or the sender's address cannot stand in it",
                      "use letters, digits, dots and dashes");
    return id;
}

std::string subject_of(const QueryMail& mail) {
    if (mail.subject.find(mail.hold_number) != std::string::npos) return mail.subject;
    return "[" + mail.hold_number + "] " + mail.subject;
}

std::vector<std::byte> message_of(const QueryMail& mail) {
    demand_sendable(mail);
    const Mailbox from = parse_mailbox(mail.from.address, tr_later("sender's address"));
    const Mailbox to = parse_mailbox(mail.to.address, tr_later("maker's address"));
    for (const std::string& name : {mail.from.name, mail.to.name})
        if (has_control(name))
            throw Failure(Fault::input, tr("name beside an address"), "it holds a line break",
                          "write it on one line");
    start_mime();

    const Held<GMimeMessage> message(g_mime_message_new(TRUE));
    add_mailbox(message.get(), GMIME_ADDRESS_TYPE_FROM, mail.from.name, from.address);
    add_mailbox(message.get(), GMIME_ADDRESS_TYPE_TO, mail.to.name, to.address);
    g_mime_message_set_subject(message.get(), valid_text(subject_of(mail)).c_str(), "utf-8");
    GDateTime* date = g_date_time_new_from_unix_utc(mail.date.time_since_epoch().count());
    g_mime_message_set_date(message.get(), date);
    g_date_time_unref(date);
    g_mime_message_set_message_id(message.get(), mail.message_id.c_str());
    if (!mail.references.empty()) {
        std::string all;
        for (const std::string& id : mail.references) all += (all.empty() ? "<" : " <") + id + ">";
        auto* object = GMIME_OBJECT(message.get());
        g_mime_object_set_header(object, "In-Reply-To", ("<" + mail.references.back() + ">").c_str(),
                                 nullptr);
        g_mime_object_set_header(object, "References", all.c_str(), nullptr);
    }

    const std::string body = canonical_lines(valid_text(mail.body));
    const Held<GMimePart> text =
        part_of("text", "plain", bytes_of(body), GMIME_CONTENT_ENCODING_QUOTEDPRINTABLE);
    g_mime_object_set_content_type_parameter(GMIME_OBJECT(text.get()), "charset", "utf-8");
    const Held<GMimeMultipart> parts(g_mime_multipart_new_with_subtype("mixed"));
    g_mime_multipart_set_boundary(parts.get(), boundary_for(mail, body).c_str());
    add(parts.get(), text.get());
    for (const OutgoingAttachment& attachment : mail.attachments) {
        const std::size_t slash = attachment.media_type.find('/');
        const Held<GMimePart> part = part_of(attachment.media_type.substr(0, slash).c_str(),
                                             attachment.media_type.substr(slash + 1).c_str(),
                                             attachment.bytes, GMIME_CONTENT_ENCODING_BASE64);
        set_file_name(part.get(), attachment.file_name);
        add(parts.get(), part.get());
    }
    g_mime_message_set_mime_part(message.get(), GMIME_OBJECT(parts.get()));

    GMimeFormatOptions* options = g_mime_format_options_new();
    g_mime_format_options_set_newline_format(options, GMIME_NEWLINE_FORMAT_DOS);
    g_mime_format_options_set_param_encoding_method(options, GMIME_PARAM_ENCODING_METHOD_RFC2231);
    const Held<GMimeStream> out(g_mime_stream_mem_new());
    const bool written = g_mime_object_write_to_stream(GMIME_OBJECT(message.get()), options, out.get()) > 0;
    g_mime_format_options_free(options);
    if (!written)
        throw Failure(Fault::outside, tr("mail"), "the message could not be built",
                      "free some memory and try again");
    return written_to(out.get());
}

}  // namespace frayhold::post
