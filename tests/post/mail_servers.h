// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "post/account.h"

// Mail servers that a test starts on loopback and that end with it.
namespace mail_servers {

// A script of this folder, running: its standard input is held open, its standard output can be read line by
// line.
class Script {
  public:
    Script(const std::string& name, const std::vector<std::string>& words);
    ~Script();
    Script(const Script&) = delete;
    Script& operator=(const Script&) = delete;

    // The next line it prints; empty at its end.
    [[nodiscard]] std::string line();

  private:
    int to_ = -1;
    int from_ = -1;
    int process_ = -1;
    std::string held_;
};

// Dovecot and Exim (mail_servers.py), started once for a test program.
class Servers {
  public:
    Servers();

    [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
    [[nodiscard]] int port(const std::string& name) const;
    // ida's account, with its password in a file of mode 0600; trusts the servers' authority.
    [[nodiscard]] frayhold::post::MailAccount account(frayhold::post::Tls tls) const;
    // The files of ida's Maildir, or of a folder below it such as ".Gear".
    [[nodiscard]] std::vector<std::filesystem::path> mails(const std::string& folder = "") const;
    // Puts a mail there as new, as another program would.
    void drop(const std::string& mail, const std::string& folder = "") const;

  private:
    std::filesystem::path folder_;
    std::unique_ptr<Script> script_;
    std::string ports_;
};

[[nodiscard]] const Servers& servers();

// An account whose passwords are in files, as its settings file holds it.
[[nodiscard]] std::string as_json(const frayhold::post::MailAccount& account);

// An SMTP server that fails as told (scripted_smtp.py).
class Scripted {
  public:
    explicit Scripted(const std::vector<std::string>& scripts);

    [[nodiscard]] frayhold::post::MailAccount account() const;
    // Reads what it tells until this line comes; gives all lines up to it.
    std::vector<std::string> wait_for(const std::string& line);

  private:
    std::unique_ptr<Script> script_;
    int port_ = 0;
};

}  // namespace mail_servers
