// SPDX-License-Identifier: Apache-2.0
#include "post/reply_mail.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <map>
#include <set>
#include <utility>

#include "language/tr.h"
#include "post/characters.h"
#include "post/encoded_words.h"
#include "post/html_text.h"
#include "post/mime_handles.h"
#include "post/safe_file_name.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

bool blank(std::string_view text) {
    return text.find_first_not_of(" \t\r\n") == std::string_view::npos;
}

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(), g_ascii_tolower);
    return text;
}

std::string trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(" \t\r\n");
    if (from == std::string_view::npos) return {};
    return std::string(text.substr(from, text.find_last_not_of(" \t\r\n") - from + 1));
}

bool control(gunichar c) {
    return g_unichar_type(c) == G_UNICODE_CONTROL;
}

// Embeddings, overrides and isolates (UAX #9): they can make a line read as what it is not.
bool turns_direction(gunichar c) {
    return (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069);
}

// A header's words on one line.
std::string shown_line(const char* text) {
    std::string out;
    each_character(valid_text(text), [&](gunichar c, std::string_view bytes) {
        if (turns_direction(c)) return;
        if (!control(c)) {
            out += bytes;
        } else if (!out.empty() && out.back() != ' ') {
            out += ' ';
        }
    });
    return trimmed(out);
}

// A body's words: lines ended by \n, no other control characters than the tab.
std::string shown_text(std::string_view text) {
    std::string out;
    bool after_return = false;
    each_character(valid_text(text), [&](gunichar c, std::string_view bytes) {
        if (after_return && c != '\n') out += '\n';
        after_return = c == '\r';
        if (c == '\n' || c == '\t' || !control(c)) out += bytes;
    });
    return out;
}

std::string header_of(GMimeObject* object, const char* field) {
    return shown_line(g_mime_object_get_header(object, field));
}

// The field as it stands in the mail, mended for GMime's decoder; empty where there is none.
std::string raw_header(GMimeObject* object, const char* field) {
    GMimeHeader* header = g_mime_header_list_get_header(g_mime_object_get_header_list(object), field);
    const char* raw = header == nullptr ? nullptr : g_mime_header_get_raw_value(header);
    return raw == nullptr ? std::string() : join_encoded_words(raw);
}

std::string subject_of(GMimeObject* message) {
    const HeldText line(g_mime_utils_header_unfold(raw_header(message, "Subject").c_str()));
    const HeldText words(g_mime_utils_header_decode_text(nullptr, line.get()));
    return shown_line(words.get());
}

std::vector<Mailbox> mailboxes(GMimeObject* message, const char* field) {
    std::vector<Mailbox> out;
    const Held<InternetAddressList> list(
        internet_address_list_parse(nullptr, raw_header(message, field).c_str()));
    for (int i = 0; list && i < internet_address_list_length(list.get()); ++i) {
        InternetAddress* one = internet_address_list_get_address(list.get(), i);
        if (!INTERNET_ADDRESS_IS_MAILBOX(one)) continue;
        out.push_back({shown_line(internet_address_get_name(one)),
                       shown_line(internet_address_mailbox_get_addr(INTERNET_ADDRESS_MAILBOX(one)))});
    }
    return out;
}

// The name a part was given, by its disposition (RFC 2183) or else by its content type; empty where by
// neither.
std::string file_name_of(GMimeObject* part) {
    if (const std::string raw = raw_header(part, "Content-Disposition"); !raw.empty()) {
        const Held<GMimeContentDisposition> disposition(
            g_mime_content_disposition_parse(nullptr, raw.c_str()));
        if (const char* name = g_mime_content_disposition_get_parameter(disposition.get(), "filename"))
            return valid_text(name);
    }
    const Held<GMimeContentType> type(
        g_mime_content_type_parse(nullptr, raw_header(part, "Content-Type").c_str()));
    return valid_text(g_mime_content_type_get_parameter(type.get(), "name"));
}

std::vector<std::string> message_ids(const char* text) {
    std::vector<std::string> ids;
    if (text == nullptr) return ids;
    GMimeReferences* references = g_mime_references_parse(nullptr, text);
    for (int i = 0; i < g_mime_references_length(references); ++i) {
        std::string id = shown_line(g_mime_references_get_message_id(references, i));
        if (!id.empty()) ids.push_back(std::move(id));
    }
    g_mime_references_free(references);
    return ids;
}

std::vector<std::byte> content_of(GMimePart* part) {
    GMimeDataWrapper* content = g_mime_part_get_content(part);
    if (content == nullptr) return {};
    const Held<GMimeStream> out(g_mime_stream_mem_new());
    g_mime_data_wrapper_write_to_stream(content, out.get());
    return written_to(out.get());
}

// To UTF-8 from the charset the part names. Where it names none, a wrong or an unknown one: UTF-8 if the
// bytes are that, else windows-1252, what most such mails hold (the Encoding Standard's choice for unlabelled
// Western text).
std::string decoded(const std::vector<std::byte>& bytes, const char* charset) {
    const auto* data = reinterpret_cast<const char*>(bytes.data());
    const auto size = static_cast<gssize>(bytes.size());
    if (size == 0) return {};
    const std::string named = charset == nullptr ? "" : lower(charset);
    const auto converted = [&](const char* from) -> std::optional<std::string> {
        gsize written = 0;
        const HeldText text(
            g_convert(data, size, "UTF-8", g_mime_charset_iconv_name(from), nullptr, &written, nullptr));
        if (!text) return std::nullopt;
        return std::string(text.get(), written);
    };
    if (!named.empty() && named != "us-ascii" && named != "utf-8" && named != "utf8")
        if (auto text = converted(named.c_str())) return *std::move(text);
    std::string raw(data, bytes.size());
    // A NUL is valid in a mail's UTF-8 text but not to GLib; it is dropped with the other control characters.
    std::erase(raw, '\0');
    if (named == "utf-8" || named == "utf8" ||
        g_utf8_validate(raw.data(), static_cast<gssize>(raw.size()), nullptr))
        return raw;
    if (auto text = converted("windows-1252")) return *std::move(text);
    return raw;
}

std::string media_type_of(GMimeObject* object) {
    const HeldText type(g_mime_content_type_get_mime_type(g_mime_object_get_content_type(object)));
    return lower(shown_line(type.get()));
}

bool is_type(GMimeObject* object, const char* type, const char* subtype) {
    return g_mime_content_type_is_type(g_mime_object_get_content_type(object), type, subtype) != 0;
}

// A Content-Type that is no type/subtype counts as text/plain (RFC 2045, 5.2).
bool has_broken_type(GMimeObject* object) {
    const std::string raw = raw_header(object, "Content-Type");
    return !blank(raw) && raw.substr(0, raw.find(';')).find('/') == std::string::npos;
}

std::string_view extension_for(std::string_view media_type) {
    constexpr std::array<std::pair<std::string_view, std::string_view>, 9> known{
        {{"image/jpeg", ".jpg"},
         {"image/png", ".png"},
         {"image/heic", ".heic"},
         {"application/pdf", ".pdf"},
         {"text/plain", ".txt"},
         {"text/html", ".html"},
         {"text/calendar", ".ics"},
         {"message/delivery-status", ".txt"},
         {"message/rfc822", ".eml"}}};
    const auto* const at = std::find_if(known.begin(), known.end(),
                                        [&](const auto& entry) { return entry.first == media_type; });
    return at == known.end() ? ".bin" : at->second;
}

// The words of a mail gathered part by part.
struct Words {
    std::string text;
    bool plain = false;
    bool html = false;

    void add(const std::string& more) {
        if (blank(more)) return;
        if (!text.empty() && !text.ends_with('\n')) text += '\n';
        if (!text.empty()) text += '\n';
        text += more;
    }
};

// Reads the tree of parts, counting them and their nesting against the limits.
class PartReader {
  public:
    PartReader(const std::string& name, const MailLimits& limits) : name_(name), limits_(limits) {}

    Words read(GMimeObject* object, int nesting = 1) {
        count(nesting);
        if (GMIME_IS_MULTIPART(object)) return read_multipart(GMIME_MULTIPART(object), nesting);
        if (GMIME_IS_MESSAGE_PART(object)) {
            attach_message(GMIME_MESSAGE_PART(object), nesting);
            return {};
        }
        Words words;
        if (!GMIME_IS_PART(object)) return words;
        GMimePart* part = GMIME_PART(object);
        const bool plain = is_type(object, "text", "plain") || has_broken_type(object);
        const std::string name = file_name_of(object);
        const bool named = !name.empty() || g_mime_part_is_attachment(part) != 0;
        if (!named && plain) {
            words.add(shown_text(text_of(part)));
            words.plain = !words.text.empty();
            return words;
        }
        if (!named && is_type(object, "text", "html")) {
            if (const auto text = text_of_html(valid_text(text_of(part)))) {
                words.add(shown_text(*text));
                words.html = !words.text.empty();
                return words;
            }
        }
        attach(media_type_of(object), name, content_of(part));
        return words;
    }

    std::vector<IncomingAttachment> take_attachments() { return std::move(attachments_); }

  private:
    void count(int nesting) {
        if (nesting > limits_.max_nesting)
            throw Failure(Fault::input, name_, "its parts are nested too deep",
                          "open it in a mail program and save what you need");
        if (++parts_ > limits_.max_parts)
            throw Failure(Fault::input, name_, "it has too many parts",
                          "open it in a mail program and save what you need");
    }

    Words read_multipart(GMimeMultipart* multipart, int nesting) {
        const bool alternative = is_type(GMIME_OBJECT(multipart), "multipart", "alternative");
        Words words;
        // Where the boundary never comes, GMime takes all that follows for the prologue.
        if (g_mime_multipart_get_count(multipart) == 0) {
            words.add(shown_text(valid_text(g_mime_multipart_get_prologue(multipart))));
            words.plain = !words.text.empty();
        }
        for (int i = 0; i < g_mime_multipart_get_count(multipart); ++i) {
            const Words part = read(g_mime_multipart_get_part(multipart, i), nesting + 1);
            if (!alternative) {
                words.add(part.text);
                words.plain = words.plain || part.plain;
                words.html = words.html || part.html;
            } else if (!words.plain && !part.text.empty()) {
                // Later alternatives are richer (RFC 2046, 5.1.4), but plain text is what is wanted.
                words = part;
            }
        }
        return words;
    }

    static std::string text_of(GMimePart* part) {
        return decoded(content_of(part),
                       g_mime_object_get_content_type_parameter(GMIME_OBJECT(part), "charset"));
    }

    // A message within the message: kept whole as one attachment. Its parts count towards the limits.
    void attach_message(GMimeMessagePart* part, int nesting) {
        GMimeMessage* message = g_mime_message_part_get_message(part);
        if (message == nullptr) return;
        count_below(g_mime_message_get_mime_part(message), nesting + 1);
        const Held<GMimeStream> out(g_mime_stream_mem_new());
        g_mime_object_write_to_stream(GMIME_OBJECT(message), nullptr, out.get());
        attach(media_type_of(GMIME_OBJECT(part)), file_name_of(GMIME_OBJECT(part)), written_to(out.get()));
    }

    void count_below(GMimeObject* object, int nesting) {
        if (object == nullptr) return;
        count(nesting);
        if (GMIME_IS_MULTIPART(object)) {
            auto* multipart = GMIME_MULTIPART(object);
            for (int i = 0; i < g_mime_multipart_get_count(multipart); ++i)
                count_below(g_mime_multipart_get_part(multipart, i), nesting + 1);
        } else if (GMIME_IS_MESSAGE_PART(object)) {
            if (GMimeMessage* message = g_mime_message_part_get_message(GMIME_MESSAGE_PART(object)))
                count_below(g_mime_message_get_mime_part(message), nesting + 1);
        }
    }

    void attach(const std::string& media_type, const std::string& name, std::vector<std::byte> bytes) {
        const std::string fallback =
            fmt::format("attachment-{}{}", attachments_.size() + 1, extension_for(media_type));
        const std::string safe = safe_file_name(name, fallback);
        std::string unique = safe;
        for (int copy = 2; !taken_.insert(lower(unique)).second; ++copy) {
            const std::size_t dot = std::min(safe.rfind('.'), safe.size());
            unique = fmt::format("{} ({}){}", safe.substr(0, dot), copy, safe.substr(dot));
        }
        attachments_.push_back({std::move(unique), media_type, std::move(bytes)});
    }

    std::string name_;
    MailLimits limits_;
    int parts_ = 0;
    std::set<std::string> taken_;
    std::vector<IncomingAttachment> attachments_;
};

// The fields of a delivery status (RFC 3464, 2.1): groups of header lines. The first of each name wins; names
// in lower case.
std::map<std::string, std::string> status_fields(std::string_view text) {
    std::map<std::string, std::string> fields;
    std::string name;
    std::string value;
    const auto keep = [&] {
        if (!name.empty()) fields.emplace(lower(name), shown_line(value.c_str()));
        name.clear();
        value.clear();
    };
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (!line.empty() && (line.front() == ' ' || line.front() == '\t')) {
            value += ' ' + trimmed(line);
            continue;
        }
        keep();
        const std::size_t colon = line.find(':');
        if (colon == std::string_view::npos) continue;
        name = trimmed(line.substr(0, colon));
        value = trimmed(line.substr(colon + 1));
    }
    keep();
    return fields;
}

// "rfc822; gear@brandelvoss.example" to what stands behind the type.
std::string behind_type(const std::string& value) {
    const std::size_t semicolon = value.find(';');
    return semicolon == std::string::npos ? value : trimmed(std::string_view(value).substr(semicolon + 1));
}

std::string as_text(const std::vector<std::byte>& bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

Held<GMimeMessage> parsed(std::span<const std::byte> bytes) {
    constexpr std::string_view mbox_mark = "From ";
    const bool mbox =
        bytes.size() > mbox_mark.size() && std::memcmp(bytes.data(), mbox_mark.data(), mbox_mark.size()) == 0;
    const Held<GMimeStream> stream = reading_stream(bytes);
    const Held<GMimeParser> parser(g_mime_parser_new_with_stream(stream.get()));
    g_mime_parser_set_format(parser.get(), mbox ? GMIME_FORMAT_MBOX : GMIME_FORMAT_MESSAGE);
    return Held<GMimeMessage>(g_mime_parser_construct_message(parser.get(), nullptr));
}

DeliveryReport delivery_report(GMimeMultipart* report) {
    DeliveryReport out;
    for (int i = 0; i < g_mime_multipart_get_count(report); ++i) {
        GMimeObject* part = g_mime_multipart_get_part(report, i);
        if (GMIME_IS_MESSAGE_PART(part)) {
            GMimeMessage* original = g_mime_message_part_get_message(GMIME_MESSAGE_PART(part));
            if (original != nullptr && out.original_message_id.empty())
                out.original_message_id = shown_line(g_mime_message_get_message_id(original));
        } else if (GMIME_IS_PART(part) && is_type(part, "message", "delivery-status")) {
            const auto fields = status_fields(shown_text(as_text(content_of(GMIME_PART(part)))));
            const auto field = [&](const char* key) {
                const auto at = fields.find(key);
                return at == fields.end() ? std::string() : at->second;
            };
            out.action = lower(field("action"));
            out.status = field("status");
            out.recipient = behind_type(
                field(fields.contains("original-recipient") ? "original-recipient" : "final-recipient"));
            out.reason = behind_type(field("diagnostic-code"));
        } else if (GMIME_IS_PART(part) && is_type(part, "text", "rfc822-headers")) {
            const auto bytes = content_of(GMIME_PART(part));
            if (const auto original = parsed(bytes); original && out.original_message_id.empty())
                out.original_message_id = shown_line(g_mime_message_get_message_id(original.get()));
        }
    }
    return out;
}

bool is_report(GMimeObject* body, const char* type) {
    if (body == nullptr || !GMIME_IS_MULTIPART(body) || !is_type(body, "multipart", "report")) return false;
    const char* named = g_mime_object_get_content_type_parameter(body, "report-type");
    return named != nullptr && lower(named) == type;
}

bool automatic(GMimeObject* message, GMimeObject* body) {
    const std::string submitted = lower(header_of(message, "Auto-Submitted"));
    if (!submitted.empty() && trimmed(submitted.substr(0, submitted.find(';'))) != "no") return true;
    const std::string precedence = lower(header_of(message, "Precedence"));
    constexpr std::array<std::string_view, 3> bulk{"bulk", "junk", "auto_reply"};
    if (std::find(bulk.begin(), bulk.end(), precedence) != bulk.end()) return true;
    std::string path = header_of(message, "Return-Path");
    std::erase(path, ' ');
    return path == "<>" || is_report(body, "disposition-notification");
}

void demand_within(std::span<const std::byte> bytes, const std::string& name, const MailLimits& limits) {
    const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    if (text.find_first_not_of(" \t\r\n") == std::string_view::npos)
        throw Failure(Fault::input, name, "it is empty", "save the mail again");
    if (bytes.size() > limits.max_bytes)
        throw Failure(Fault::input, name, trf("it is larger than {} MB", limits.max_bytes / 1'000'000),
                      "save its attachments by themselves and add them to the hold");
    int lines = 0;
    for (std::size_t at = 0; at < text.size(); ++lines) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        if (blank(text.substr(at, end - at)) && at > 0) return;
        if (lines > limits.max_header_lines)
            throw Failure(Fault::input, name, "its head has too many lines for a mail",
                          "save the mail again as .eml");
        at = end + 1;
    }
}

// Whether the head names anything that mails have and other files have not. GMime keeps the content fields
// with the body's part.
bool is_mail(GMimeMessage* mail) {
    constexpr std::array marks{"From", "To", "Date", "Subject", "Message-Id", "Received", "Mime-Version"};
    auto* head = GMIME_OBJECT(mail);
    GMimeObject* body = g_mime_message_get_mime_part(mail);
    return std::any_of(marks.begin(), marks.end(),
                       [&](const char* field) { return !raw_header(head, field).empty(); }) ||
           (body != nullptr && !raw_header(body, "Content-Type").empty());
}

std::optional<Time> date_of(GMimeMessage* message) {
    GDateTime* date = g_mime_message_get_date(message);
    if (date == nullptr) return std::nullopt;
    return Time(std::chrono::seconds(g_date_time_to_unix(date)));
}

}  // namespace

ReplyMail parse_reply(std::span<const std::byte> message, const std::string& name, const MailLimits& limits) {
    start_mime();
    demand_within(message, name, limits);
    const Held<GMimeMessage> mail = parsed(message);
    if (!mail || !is_mail(mail.get()))
        throw Failure(Fault::input, name, "it is not a mail: no sender, date or subject stands at its head",
                      "save the mail as an .eml file from the mail program");

    auto* object = GMIME_OBJECT(mail.get());
    ReplyMail reply;
    const std::vector<Mailbox> from = mailboxes(object, "From");
    if (!from.empty()) reply.from = from.front();
    reply.to = mailboxes(object, "To");
    reply.subject = subject_of(object);
    reply.date = date_of(mail.get());
    reply.message_id = shown_line(g_mime_message_get_message_id(mail.get()));
    reply.in_reply_to = message_ids(g_mime_object_get_header(object, "In-Reply-To"));
    reply.references = message_ids(g_mime_object_get_header(object, "References"));

    GMimeObject* body = g_mime_message_get_mime_part(mail.get());
    if (body != nullptr) {
        PartReader reader(name, limits);
        Words words = reader.read(body);
        reply.text_from_html = words.html && !words.plain;
        reply.text = std::move(words.text);
        reply.attachments = reader.take_attachments();
        if (is_report(body, "delivery-status")) {
            reply.kind = ReplyKind::delivery_report;
            reply.delivery = delivery_report(GMIME_MULTIPART(body));
        }
    }
    if (reply.text.size() > limits.max_text_bytes) {
        reply.text.resize(limits.max_text_bytes);
        while (!reply.text.empty() &&
               !g_utf8_validate(reply.text.data(), static_cast<gssize>(reply.text.size()), nullptr))
            reply.text.pop_back();
        reply.text_cut = true;
    }
    if (reply.kind == ReplyKind::answer && automatic(object, body)) reply.kind = ReplyKind::automatic;
    return reply;
}

}  // namespace frayhold::post
