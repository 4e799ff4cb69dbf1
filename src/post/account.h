// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "post/mailbox.h"

namespace frayhold::post {

// Mail is never carried in the clear: either TLS from the first byte (RFC 8314), or STARTTLS (RFC 3207, RFC
// 9051 6.2.1), without which the connection is given up.
enum class Tls { from_start, starttls };

// Where a password is taken from each time it is needed. The account keeps the place, not the password.
struct PasswordSource {
    enum class Place { nowhere, account_file, file, environment, command };
    Place place = Place::nowhere;
    std::string name;  // of the file or variable, or the command's words
};

struct MailServer {
    std::string host;
    int port = 0;
    Tls tls = Tls::from_start;
    std::string user;  // empty: no login
    PasswordSource password;
};

struct MailAccount {
    std::filesystem::path file;      // where it was read
    Mailbox from;                    // who sends
    std::optional<MailServer> smtp;  // sending
    std::optional<MailServer> imap;  // fetching
    std::string folder;              // the one folder that is fetched from
    std::filesystem::path ca_file;   // certificates to trust instead of the system's; may be empty
};

// Reads the settings of an account, a JSON file:
//
//   { "from": "Ida Fenwright <ida@korreltrees.example>",
//     "smtp": { "host": "mail.korreltrees.example", "port": 465, "tls": "from_start",
//               "user": "ida", "password_file": "mail.password" },
//     "imap": { "host": "mail.korreltrees.example", "port": 993, "tls": "from_start",
//               "user": "ida", "password_command": "secret-tool lookup mail ida", "folder": "Gear" },
//     "ca_file": "own-authority.pem" }
//
// "smtp", "imap" and "ca_file" may be left out; "tls" is "from_start" (usual) or "starttls"; the usual ports
// are those of RFC 8314 and RFC 6409. One of "password", "password_file", "password_environment" and
// "password_command" says where the password is. Files are named from the account file's own folder. Throws
// Failure (Fault::input) naming the file and the field: not readable, no JSON, a field missing, wrong or
// unknown, or a "password" in a file that others may read.
[[nodiscard]] MailAccount read_account(const std::filesystem::path& file);

// The password of one of the account's servers; empty where it needs none. Throws Failure (Fault::input): its
// file is missing, empty or may be read by others (its mode must be 0600 or less); the variable is not set;
// the command fails or says nothing.
[[nodiscard]] std::string password_of(const MailAccount& account, const MailServer& server);

}  // namespace frayhold::post
