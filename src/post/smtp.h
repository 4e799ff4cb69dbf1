// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <span>
#include <string>

#include "post/account.h"

namespace frayhold::post {

// How one try to send a message ended. A server owns a message from its reply 2xx to the end of the data on,
// and never before it (RFC 5321, 4.1.1.4 and 4.2.5).
enum class Handed {
    accepted,      // the server has taken it over
    not_now,       // it has not: no connection, or a reply 4xx; may be tried again as it is
    refused,       // it has not, and will not: a reply 5xx; trying again as it is does no good
    unsure,        // all of it was sent and the reply never came: it may or may not have been taken over
    wrong_account  // it has not: the certificate, the login or the want of TLS is in the way
};

struct SmtpResult {
    Handed handed = Handed::not_now;
    int code = 0;       // of the reply that decided; 0 without one
    std::string words;  // for a person: the server's own words, or what broke and at which step
};

struct Envelope {
    std::string from;  // addresses alone
    std::string to;
};

// Called while a message is sent. Both must have brought what they record to the disk when they return; what
// they throw ends the sending and is thrown on.
struct SmtpSteps {
    // Before the last bytes go out: until then the server cannot have taken the message over.
    std::function<void()> before_handing_over;
    // As soon as the server's 2xx to the whole message is in, before the connection is closed.
    std::function<void(int code, const std::string& words)> accepted;
};

// How long to wait. The first is common practice, the second what RFC 5321, 4.5.3.2.6 asks for the last
// reply.
struct SmtpPatience {
    std::chrono::seconds connecting{30};
    std::chrono::seconds reply{600};
};

// Sends a message (RFC 5322, lines ended by CRLF) to one recipient over the account's "smtp". Throws Failure
// (Fault::input): the account cannot send, or its password is not to be had; and whatever a step throws.
[[nodiscard]] SmtpResult send_by_smtp(const MailAccount& account, const Envelope& envelope,
                                      std::span<const std::byte> message, const SmtpSteps& steps,
                                      const SmtpPatience& patience = {});

// When to try again after so many tries in vain: 5, 15, 30, 60 minutes, then every 3 hours (RFC 5321, 4.5.4.1
// asks for some tries early and then at least 30 minutes between them). Most tries before a person is asked:
// 43, which is 5 days.
[[nodiscard]] std::chrono::seconds wait_after(int tries);
inline constexpr int most_tries = 43;

}  // namespace frayhold::post
