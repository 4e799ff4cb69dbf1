// SPDX-License-Identifier: Apache-2.0
#include "post/smtp.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cstring>
#include <exception>
#include <string_view>

#include "language/later.h"
#include "post/characters.h"
#include "post/curl_handle.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

struct Reply {
    int code = 0;
    std::string words;
};

// One message on its way, as libcurl's callbacks see it.
class Sending {
  public:
    Sending(std::span<const std::byte> message, const SmtpSteps& steps)
        : size_(message.size()), left_(message), steps_(steps) {}

    // The next bytes of the message. The last two, its final line end, go by themselves, so that the step
    // before them stands as late as it can: libcurl writes the closing dot only behind them.
    std::size_t next(std::span<std::byte> room) {
        if (most_bytes_ > 0 && size_ > most_bytes_) {
            too_large_ = true;
            return CURL_READFUNC_ABORT;
        }
        constexpr std::size_t last_bytes = 2;
        const bool last = left_.size() <= last_bytes;
        if (last && !handing_over_ && !run([&] { steps_.before_handing_over(); })) return CURL_READFUNC_ABORT;
        handing_over_ = handing_over_ || last;
        const std::size_t available = last ? left_.size() : left_.size() - last_bytes;
        const std::size_t count = std::min(room.size(), available);
        std::memcpy(room.data(), left_.data(), count);
        left_ = left_.subspan(count);
        return count;
    }

    // One line of the server's.
    bool hear(std::string_view line) {
        while (line.ends_with('\n') || line.ends_with('\r')) line.remove_suffix(1);
        constexpr std::size_t code_length = 3;
        int code = 0;
        const auto [end, fault] =
            std::from_chars(line.data(), line.data() + std::min(line.size(), code_length), code);
        if (fault != std::errc() || end != line.data() + code_length) return true;
        const std::string_view words = line.substr(std::min(line.size(), code_length + 1));
        note_size_limit(words);
        const bool more = line.size() > code_length && line[code_length] == '-';
        if (more || leaving_) return true;
        last_ = {code, valid_text(words)};
        if (!handing_over_ || decided_) return true;
        decided_ = last_;
        if (code / 100 != 2) return true;
        return run([&] { steps_.accepted(code, decided_->words); });
    }

    void saw_command(std::string_view line) {
        leaving_ = leaving_ || line.starts_with("QUIT");
        constexpr std::array<std::string_view, 7> verbs{"EHLO", "HELO", "STARTTLS", "AUTH",
                                                        "MAIL", "RCPT", "DATA"};
        for (const std::string_view verb : verbs)
            if (line.starts_with(verb) && line.substr(verb.size()).find_first_of(" \r") == 0) {
                stage_ = verb;
                last_.reset();
            }
    }

    void rethrow() const {
        if (fault_) std::rethrow_exception(fault_);
    }

    [[nodiscard]] SmtpResult result(CURLcode code) const {
        if (decided_) return by_reply(*decided_);
        if (too_large_)
            return {Handed::refused, 0,
                    fmt::format("{}: {:.1f}", tr_later("the mail is larger than the server takes, in MB"),
                                static_cast<double>(most_bytes_) / 1e6)};
        if (handing_over_)
            return {Handed::unsure, 0,
                    fmt::format("{}: {}", tr_later("all of it was sent, but the server's reply did not come"),
                                words_for(code))};
        if (last_ && last_->code / 100 == 4) return by_reply(*last_);
        if (last_ && last_->code == 530) return {Handed::wrong_account, 530, last_->words};
        const bool about_message = stage_ == "MAIL" || stage_ == "RCPT" || stage_ == "DATA";
        if (last_ && last_->code / 100 == 5 && about_message) return by_reply(*last_);
        const std::string at = stage_.empty() ? tr_later("before the greeting") : stage_;
        const int failing_code = last_ && last_->code >= lowest_failing_code ? last_->code : 0;
        if (is_account_fault(code)) return {Handed::wrong_account, failing_code, with_words(words_for(code))};
        return {Handed::not_now, failing_code, with_words(words_for(code) + ": " + at)};
    }

  private:
    static constexpr int lowest_failing_code = 400;

    [[nodiscard]] std::string with_words(const std::string& what) const {
        return last_ && last_->code >= lowest_failing_code
                   ? fmt::format("{}: \"{} {}\"", what, last_->code, last_->words)
                   : what;
    }

    static SmtpResult by_reply(const Reply& reply) {
        const Handed handed = reply.code / 100 == 2   ? Handed::accepted
                              : reply.code / 100 == 5 ? Handed::refused
                                                      : Handed::not_now;
        return {handed, reply.code, reply.words};
    }

    // A C caller stands between: what is thrown is kept for later.
    template <class Step>
    bool run(const Step& step) {
        try {
            step();
            return true;
        } catch (...) {
            fault_ = std::current_exception();
            return false;
        }
    }

    // "SIZE 25000000" among the server's extensions (RFC 1870).
    void note_size_limit(std::string_view words) {
        constexpr std::string_view keyword = "SIZE ";
        if (stage_ != "EHLO" || !words.starts_with(keyword)) return;
        words.remove_prefix(keyword.size());
        std::from_chars(words.data(), words.data() + words.size(), most_bytes_);
    }

    std::size_t size_ = 0;
    std::span<const std::byte> left_;
    const SmtpSteps& steps_;
    std::string stage_;
    std::optional<Reply> last_;     // to the last command
    std::optional<Reply> decided_;  // to the whole message
    std::size_t most_bytes_ = 0;
    bool too_large_ = false;
    bool leaving_ = false;  // the reply to QUIT decides nothing
    bool handing_over_ = false;
    std::exception_ptr fault_;
};

std::size_t on_read(char* room, std::size_t size, std::size_t count, void* sending) {
    return static_cast<Sending*>(sending)->next({reinterpret_cast<std::byte*>(room), size * count});
}

std::size_t on_line(char* line, std::size_t size, std::size_t count, void* sending) {
    return static_cast<Sending*>(sending)->hear({line, size * count}) ? size * count : 0;
}

// Only the verb is looked at: the rest of a line may hold a credential.
int on_command(CURL*, curl_infotype type, char* line, std::size_t size, void* sending) {
    if (type == CURLINFO_HEADER_OUT) static_cast<Sending*>(sending)->saw_command({line, size});
    return 0;
}

}  // namespace

SmtpResult send_by_smtp(const MailAccount& account, const Envelope& envelope,
                        std::span<const std::byte> message, const SmtpSteps& steps,
                        const SmtpPatience& patience) {
    if (!account.smtp)
        throw Failure(Fault::input, account.file.string(), "it names no server to send by", "add \"smtp\"");
    // The name we greet with: the sender's domain rather than this machine's name.
    const std::string domain = account.from.address.substr(account.from.address.find('@') + 1);
    const CurlHandle handle = curl_for(account, *account.smtp, "smtp", domain);
    Sending sending(message, steps);
    const auto set = [&](CURLoption option, auto value) { curl_easy_setopt(handle.get(), option, value); };
    const CurlList recipients(curl_slist_append(nullptr, ("<" + envelope.to + ">").c_str()));
    set(CURLOPT_MAIL_FROM, ("<" + envelope.from + ">").c_str());
    set(CURLOPT_MAIL_RCPT, recipients.get());
    // The size is not told to libcurl: it would count bytes with the dots it doubles and could end too early.
    set(CURLOPT_UPLOAD, 1L);
    set(CURLOPT_READFUNCTION, on_read);
    set(CURLOPT_READDATA, &sending);
    set(CURLOPT_HEADERFUNCTION, on_line);
    set(CURLOPT_HEADERDATA, &sending);
    set(CURLOPT_VERBOSE, 1L);
    set(CURLOPT_DEBUGFUNCTION, on_command);
    set(CURLOPT_DEBUGDATA, &sending);
    set(CURLOPT_CONNECTTIMEOUT, static_cast<long>(patience.connecting.count()));
    set(CURLOPT_SERVER_RESPONSE_TIMEOUT, static_cast<long>(patience.reply.count()));
    set(CURLOPT_LOW_SPEED_LIMIT, 1L);
    set(CURLOPT_LOW_SPEED_TIME, static_cast<long>(patience.reply.count()));
    const CURLcode code = curl_easy_perform(handle.get());
    sending.rethrow();
    return sending.result(code);
}

std::chrono::seconds wait_after(int tries) {
    constexpr std::array first_minutes{5, 15, 30, 60};
    constexpr std::chrono::minutes later{180};
    const auto turn = static_cast<std::size_t>(std::max(tries, 1) - 1);
    return turn < first_minutes.size() ? std::chrono::minutes(first_minutes[turn]) : later;
}

}  // namespace frayhold::post
