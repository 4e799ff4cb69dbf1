// SPDX-License-Identifier: Apache-2.0
#include "post/mail_servers.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>

namespace fs = std::filesystem;

namespace mail_servers {
namespace {

using frayhold::post::MailAccount;
using frayhold::post::MailServer;
using frayhold::post::PasswordSource;
using frayhold::post::Tls;

fs::path new_folder() {
    std::string shape = (fs::temp_directory_path() / "frayhold-mail-XXXXXX").string();
    REQUIRE(::mkdtemp(shape.data()) != nullptr);
    // The servers run without rights and must get in.
    fs::permissions(shape, fs::perms::owner_all | fs::perms::group_read | fs::perms::group_exec |
                               fs::perms::others_read | fs::perms::others_exec);
    return shape;
}

void write_private(const fs::path& file, const std::string& text) {
    std::ofstream(file) << text;
    fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
}

}  // namespace

Script::Script(const std::string& name, const std::vector<std::string>& words) {
    std::array<int, 2> in{};
    std::array<int, 2> out{};
    REQUIRE(::pipe2(in.data(), O_CLOEXEC) == 0);
    REQUIRE(::pipe2(out.data(), O_CLOEXEC) == 0);
    const std::string path = std::string(FRAYHOLD_SOURCE_DIR) + "/tests/post/" + name;
    std::vector<std::string> all{FRAYHOLD_PYTHON, path};
    all.insert(all.end(), words.begin(), words.end());
    std::vector<char*> arguments;
    for (std::string& word : all) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    process_ = ::fork();
    if (process_ == 0) {
        ::dup2(in[0], STDIN_FILENO);
        ::dup2(out[1], STDOUT_FILENO);
        ::execv(arguments[0], arguments.data());
        ::_exit(1);
    }
    ::close(in[0]);
    ::close(out[1]);
    to_ = in[1];
    from_ = out[0];
}

Script::~Script() {
    ::close(to_);
    ::close(from_);
    int status = 0;
    ::waitpid(process_, &status, 0);
}

std::string Script::line() {
    constexpr int longest_ms = 30'000;
    for (;;) {
        if (const std::size_t end = held_.find('\n'); end != std::string::npos) {
            const std::string line = held_.substr(0, end);
            held_.erase(0, end + 1);
            return line;
        }
        pollfd waiting{from_, POLLIN, 0};
        REQUIRE(::poll(&waiting, 1, longest_ms) > 0);
        std::array<char, 4096> piece{};
        const ssize_t count = ::read(from_, piece.data(), piece.size());
        if (count <= 0) return "";
        held_.append(piece.data(), static_cast<std::size_t>(count));
    }
}

Servers::Servers() : folder_(new_folder()) {
    script_ = std::make_unique<Script>("mail_servers.py", std::vector<std::string>{folder_.string()});
    ports_ = script_->line();
    REQUIRE_FALSE(ports_.empty());
}

int Servers::port(const std::string& name) const {
    return nlohmann::json::parse(ports_).at(name).get<int>();
}

MailAccount Servers::account(Tls tls) const {
    const std::string end = tls == Tls::from_start ? "" : "_starttls";
    const fs::path password = folder_ / "ida.password";
    if (!fs::exists(password)) write_private(password, "Ashmeer-7\n");
    MailServer server;
    server.host = "localhost";
    server.tls = tls;
    server.user = "ida";
    server.password = {PasswordSource::Place::file, password.string()};
    MailAccount account;
    account.file = folder_ / "account.json";
    account.from = {"Ida Fenwright", "ida@korreltrees.example"};
    account.ca_file = folder_ / "ca.pem";
    account.folder = "INBOX";
    account.smtp = server;
    account.smtp->port = port("smtp" + end);
    account.imap = server;
    account.imap->port = port("imap" + end);
    return account;
}

std::vector<fs::path> Servers::mails(const std::string& folder) const {
    std::vector<fs::path> found;
    for (const char* kind : {"new", "cur"}) {
        const fs::path at = folder_ / "mail/ida/Maildir" / folder / kind;
        if (!fs::is_directory(at)) continue;
        for (const auto& entry : fs::directory_iterator(at)) found.push_back(entry.path());
    }
    return found;
}

void Servers::drop(const std::string& mail, const std::string& folder) const {
    const fs::path at = folder_ / "mail/ida/Maildir" / folder;
    static int turn = 0;
    struct stat about {};
    REQUIRE(::stat((folder_ / "mail").c_str(), &about) == 0);
    for (const fs::path& made :
         {folder_ / "mail/ida", folder_ / "mail/ida/Maildir", at, at / "new", at / "cur", at / "tmp"})
        if (fs::create_directory(made)) REQUIRE(::chown(made.c_str(), about.st_uid, about.st_gid) == 0);
    const std::string name = fmt::format("{}.test.{}", ++turn, ::getpid());
    std::ofstream(at / "tmp" / name, std::ios::binary) << mail;
    REQUIRE(::chown((at / "tmp" / name).c_str(), about.st_uid, about.st_gid) == 0);
    fs::rename(at / "tmp" / name, at / "new" / name);
}

const Servers& servers() {
    static const Servers all;
    return all;
}

std::string as_json(const MailAccount& account) {
    const auto server = [](const MailServer& one) {
        return nlohmann::json{{"host", one.host},
                              {"port", one.port},
                              {"tls", one.tls == Tls::from_start ? "from_start" : "starttls"},
                              {"user", one.user},
                              {"password_file", one.password.name}};
    };
    nlohmann::json json{{"from", frayhold::post::to_text(account.from)},
                        {"smtp", server(account.smtp.value())},
                        {"imap", server(account.imap.value())},
                        {"ca_file", account.ca_file.string()}};
    json["imap"]["folder"] = account.folder;
    return json.dump(1);
}

Scripted::Scripted(const std::vector<std::string>& scripts) {
    std::vector<std::string> words{servers().folder().string()};
    words.insert(words.end(), scripts.begin(), scripts.end());
    script_ = std::make_unique<Script>("scripted_smtp.py", words);
    port_ = std::stoi(script_->line());
}

MailAccount Scripted::account() const {
    MailAccount account = servers().account(Tls::from_start);
    account.smtp->port = port_;
    return account;
}

std::vector<std::string> Scripted::wait_for(const std::string& line) {
    std::vector<std::string> lines;
    do {
        lines.push_back(script_->line());
        REQUIRE_FALSE(lines.back().empty());
    } while (lines.back() != line);
    return lines;
}

}  // namespace mail_servers
