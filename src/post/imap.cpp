// SPDX-License-Identifier: Apache-2.0
#include "post/imap.h"

#include <fmt/format.h>
#include <poll.h>

#include <algorithm>
#include <array>

#include "language/tr.h"
#include "post/characters.h"
#include "post/curl_handle.h"
#include "post/imap_response.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

const MailServer& server_of(const MailAccount& account) {
    if (account.imap) return *account.imap;
    throw Failure(Fault::input, account.file.string(), "it names no server to fetch from", "add \"imap\"");
}

Failure broken(const MailServer& server, CURLcode code) {
    return {Fault::outside, server.host, words_for(code),
            is_account_fault(code) ? tr_later("mend the account's settings") : tr_later("try again later")};
}

// libcurl makes the connection, TLS and the login; what is said then is ours, since its own IMAP commands
// would mark mails as read.
class ImapSession {
  public:
    ImapSession(const MailAccount& account, std::size_t most_bytes, std::chrono::seconds patience)
        : server_(server_of(account)),
          patience_(patience),
          handle_(curl_for(account, server_, "imap", "")),
          reader_([this](std::span<char> room) { return receive(room); }, server_.host,
                  {.max_literal_bytes = most_bytes}) {
        curl_easy_setopt(handle_.get(), CURLOPT_CONNECT_ONLY, 1L);
        curl_easy_setopt(handle_.get(), CURLOPT_CONNECTTIMEOUT, static_cast<long>(patience.count()));
        curl_easy_setopt(handle_.get(), CURLOPT_SERVER_RESPONSE_TIMEOUT, static_cast<long>(patience.count()));
        if (const CURLcode code = curl_easy_perform(handle_.get()); code != CURLE_OK)
            throw broken(server_, code);
    }

    // Gives each untagged response to `hear`, and the rest of the tagged line: "OK ...", "NO ...", "BAD ...".
    std::string command(const std::string& words, const std::function<void(const ImapResponse&)>& hear) {
        const std::string tag = fmt::format("F{}", ++turn_);
        send(fmt::format("{} {}\r\n", tag, words));
        for (;;) {
            const ImapResponse response = reader_.next();
            if (response.is_tagged(tag)) return response.line.substr(tag.size() + 1);
            hear(response);
        }
    }

    void demand_ok(const std::string& answer) const {
        if (answer.starts_with("OK")) return;
        throw Failure(Fault::outside, server_.host, trf("it says \"{}\"", valid_text(answer)),
                      "try again later");
    }

    [[nodiscard]] const std::string& name() const { return server_.host; }

    // Polite, and of no consequence where it fails.
    void log_out() { send("F0 LOGOUT\r\n"); }

  private:
    void wait_for(short events) {
        curl_socket_t socket = CURL_SOCKET_BAD;
        curl_easy_getinfo(handle_.get(), CURLINFO_ACTIVESOCKET, &socket);
        pollfd waiting{socket, events, 0};
        const auto longest = std::chrono::duration_cast<std::chrono::milliseconds>(patience_);
        if (::poll(&waiting, 1, static_cast<int>(longest.count())) <= 0)
            throw broken(server_, CURLE_OPERATION_TIMEDOUT);
    }

    void send(std::string_view words) {
        while (!words.empty()) {
            std::size_t count = 0;
            const CURLcode code = curl_easy_send(handle_.get(), words.data(), words.size(), &count);
            if (code == CURLE_AGAIN) {
                wait_for(POLLOUT);
            } else if (code != CURLE_OK) {
                throw broken(server_, code);
            }
            words.remove_prefix(count);
        }
    }

    std::size_t receive(std::span<char> room) {
        for (;;) {
            std::size_t count = 0;
            const CURLcode code = curl_easy_recv(handle_.get(), room.data(), room.size(), &count);
            if (code == CURLE_OK) return count;
            if (code != CURLE_AGAIN) throw broken(server_, code);
            wait_for(POLLIN);
        }
    }

    const MailServer& server_;
    std::chrono::seconds patience_;
    CurlHandle handle_;
    ImapReader reader_;
    int turn_ = 0;
};

// "1-Feb-2026" (RFC 9051, 9: date).
std::string imap_date(Date date) {
    constexpr std::array months{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    return fmt::format("{}-{}-{:04}", static_cast<unsigned>(date.day()),
                       months.at(static_cast<unsigned>(date.month()) - 1), static_cast<int>(date.year()));
}

std::uint32_t examine(ImapSession& session, const MailAccount& account) {
    std::optional<std::uint32_t> validity;
    const std::string answer =
        session.command("EXAMINE " + quoted_folder(account.folder), [&](const ImapResponse& response) {
            if (const auto number = number_behind(response, "UIDVALIDITY")) validity = number;
        });
    if (answer.starts_with("NO"))
        throw Failure(
            Fault::input, account.file.string(),
            trf("the server has no folder \"{}\" to read (\"{}\")", account.folder, valid_text(answer)),
            "name a folder that is there");
    session.demand_ok(answer);
    return validity.value_or(0);
}

// A range up to * always holds the last mail, so what was read already is dropped.
std::vector<std::uint32_t> new_uids(ImapSession& session, std::uint32_t last_uid, Date since) {
    std::vector<std::uint32_t> uids;
    const std::string answer =
        session.command(fmt::format("UID SEARCH UID {}:* SINCE {}", last_uid + 1, imap_date(since)),
                        [&](const ImapResponse& response) {
                            for (const std::uint32_t uid : searched_uids(response))
                                if (uid > last_uid) uids.push_back(uid);
                        });
    session.demand_ok(answer);
    std::sort(uids.begin(), uids.end());
    return uids;
}

std::optional<FetchedMail> fetch(ImapSession& session, const FolderMark& mark, std::size_t most_bytes) {
    FetchedMail mail;
    mail.mark = mark;
    bool there = false;
    const auto same_mail = [&](const ImapResponse& response) {
        return number_behind(response, "UID") == mark.last_uid;
    };
    session.demand_ok(session.command(fmt::format("UID FETCH {} (RFC822.SIZE)", mark.last_uid),
                                      [&](const ImapResponse& response) {
                                          const auto size = number_behind(response, "RFC822.SIZE");
                                          if (!size || !same_mail(response)) return;
                                          there = true;
                                          mail.size_bytes = *size;
                                      }));
    // Taken away by another program meanwhile.
    if (!there) return std::nullopt;
    if (mail.size_bytes > most_bytes) return mail;
    bool got = false;
    session.demand_ok(session.command(fmt::format("UID FETCH {} (BODY.PEEK[])", mark.last_uid),
                                      [&](const ImapResponse& response) {
                                          const auto body = fetched_body(response);
                                          if (!body || !same_mail(response)) return;
                                          got = true;
                                          const auto* from = reinterpret_cast<const std::byte*>(body->data());
                                          mail.bytes.assign(from, from + body->size());
                                      }));
    if (!got)
        throw Failure(Fault::outside, session.name(), trf("it did not hand over mail {}", mark.last_uid),
                      "try again later");
    return mail;
}

}  // namespace

void fetch_by_imap(const MailAccount& account, const FetchOrder& order,
                   const std::function<void(FetchedMail)>& take, std::chrono::seconds patience) {
    constexpr std::size_t slack = 1'000'000;  // sizes that servers state are not always exact
    ImapSession session(account, order.most_bytes + slack, patience);
    const std::uint32_t validity = examine(session, account);
    const bool known = order.read_up_to && order.read_up_to->uid_validity == validity;
    for (const std::uint32_t uid : new_uids(session, known ? order.read_up_to->last_uid : 0, order.since))
        if (auto mail = fetch(session, {validity, uid}, order.most_bytes)) take(*std::move(mail));
    try {
        session.log_out();
    } catch (const Failure&) {
        // Everything is fetched: a connection that breaks now takes nothing away.
        return;
    }
}

std::string folder_address(const MailAccount& account) {
    const MailServer& server = server_of(account);
    return fmt::format("imap{}://{}@{}:{}/{}", server.tls == Tls::from_start ? "s" : "", server.user,
                       server.host, server.port, account.folder);
}

}  // namespace frayhold::post
