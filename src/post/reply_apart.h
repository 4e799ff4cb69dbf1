// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <string>

#include "photo/apart.h"
#include "post/reply_mail.h"

namespace frayhold::post {

// What the process that reads a stranger's mail may use.
[[nodiscard]] photo::ApartLimits usual_apart_limits();

// parse_reply in a child process of its own: with little memory and time, no network, no other program, and
// nothing to write to but the pipe that brings back what it read. Whatever a mail does to its reader, it does
// there. Throws Failure (Fault::input) as parse_reply does, and where the child was ended by a limit or a
// fault.
[[nodiscard]] ReplyMail parse_reply_apart(std::span<const std::byte> message, const std::string& name,
                                          const MailLimits& limits = {},
                                          const photo::ApartLimits& apart = usual_apart_limits());

// The same for another reader, for tests of the limits.
using MailParser =
    std::function<ReplyMail(std::span<const std::byte>, const std::string&, const MailLimits&)>;
[[nodiscard]] ReplyMail parse_apart_with(const MailParser& parse, std::span<const std::byte> message,
                                         const std::string& name, const MailLimits& limits,
                                         const photo::ApartLimits& apart);

}  // namespace frayhold::post
