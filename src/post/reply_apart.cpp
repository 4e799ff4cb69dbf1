// SPDX-License-Identifier: Apache-2.0
#include "post/reply_apart.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <nlohmann/json.hpp>
#include <optional>

#include "post/confined.h"
#include "post/mime_handles.h"
#include "units/error.h"

// What was read comes back through the pipe as CBOR (RFC 8949).
namespace frayhold::post {
namespace {

using Json = nlohmann::json;
using Steady = std::chrono::steady_clock;

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

// An exception that is caught nowhere else (no memory left, say) ends the child without a word.
[[noreturn]] void run_child(const MailParser& parse, std::span<const std::byte> message,
                            const std::string& name, const MailLimits& limits, const ApartLimits& apart,
                            int writable) {
    constexpr int failed_status = 1;
    try {
        if (!confine(writable, apart.memory_bytes, apart.processor)) ::_exit(failed_status);
        const std::vector<std::uint8_t> words = Json::to_cbor(read_by(parse, message, name, limits));
        std::size_t done = 0;
        while (done < words.size()) {
            const ssize_t count = ::write(writable, words.data() + done, words.size() - done);
            if (count <= 0 && errno != EINTR) ::_exit(failed_status);
            if (count > 0) done += static_cast<std::size_t>(count);
        }
        ::_exit(0);
    } catch (...) {
        ::_exit(failed_status);
    }
}

class Descriptor {
  public:
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor() { close(); }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;

    [[nodiscard]] int number() const { return number_; }
    void close() {
        if (number_ >= 0) ::close(number_);
        number_ = -1;
    }

  private:
    int number_;
};

// Everything the child writes until it closes the pipe; empty where the clock runs out first or it writes too
// much.
std::optional<std::vector<std::uint8_t>> heard(int readable, Steady::time_point until,
                                               std::size_t most_bytes) {
    std::vector<std::uint8_t> all;
    std::array<std::uint8_t, 64UL * 1024> piece;
    for (;;) {
        const auto left =
            std::chrono::duration_cast<std::chrono::milliseconds>(until - Steady::now()).count();
        pollfd waiting{readable, POLLIN, 0};
        const int ready = left <= 0 ? 0 : ::poll(&waiting, 1, static_cast<int>(left));
        if (ready < 0 && errno == EINTR) continue;
        if (ready <= 0) return std::nullopt;
        const ssize_t count = ::read(readable, piece.data(), piece.size());
        if (count < 0 && errno == EINTR) continue;
        if (count < 0) return std::nullopt;
        if (count == 0) return all;
        all.insert(all.end(), piece.begin(), piece.begin() + count);
        if (all.size() > most_bytes) return std::nullopt;
    }
}

bool ended_well(pid_t child) {
    int status = 0;
    while (::waitpid(child, &status, 0) < 0)
        if (errno != EINTR) return false;
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

}  // namespace

ReplyMail parse_apart_with(const MailParser& parse, std::span<const std::byte> message,
                           const std::string& name, const MailLimits& limits, const ApartLimits& apart) {
    start_mime();
    std::array<int, 2> ends{-1, -1};
    const Failure no_child(Fault::outside, name, "a process of its own to read it could not be started",
                           "close other programs and try again");
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) throw no_child;
    const Descriptor readable(ends[0]);
    Descriptor writable(ends[1]);
    const pid_t child = ::fork();
    if (child < 0) throw no_child;
    if (child == 0) run_child(parse, message, name, limits, apart, writable.number());
    writable.close();

    const std::size_t most_words = 2 * limits.max_bytes + 8 * limits.max_text_bytes;
    const auto words = heard(readable.number(), Steady::now() + apart.clock, most_words);
    if (!words) ::kill(child, SIGKILL);
    if (!ended_well(child) || !words)
        throw Failure(Fault::input, name, "reading it took too much time or memory, or broke the reader",
                      "open it in a mail program and enter its words by hand");
    const Json said = Json::from_cbor(*words, true, false);
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
                            const MailLimits& limits, const ApartLimits& apart) {
    return parse_apart_with(parse_reply, message, name, limits, apart);
}

}  // namespace frayhold::post
