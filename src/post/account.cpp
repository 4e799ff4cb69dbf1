// SPDX-License-Identifier: Apache-2.0
#include "post/account.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <memory>
#include <nlohmann/json.hpp>
#include <span>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using Place = PasswordSource::Place;

struct PasswordField {
    std::string_view field;
    Place place;
};
constexpr std::array password_fields{
    PasswordField{"password", Place::account_file},
    PasswordField{"password_file", Place::file},
    PasswordField{"password_environment", Place::environment},
    PasswordField{"password_command", Place::command},
};

constexpr const char* account_unreadable = tr_later("the account cannot be read");

// `unreadable` says what it is that cannot be read.
std::string whole_text(const fs::path& file, const char* unreadable) {
    std::ifstream stream(file, std::ios::binary);
    if (!stream) throw Failure(Fault::input, file.string(), unreadable, "check its name and who may read it");
    return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

void demand_private(const fs::path& file) {
    struct stat about {};
    constexpr mode_t others = S_IRWXG | S_IRWXO;
    if (::stat(file.c_str(), &about) == 0 && (about.st_mode & others) == 0) return;
    throw Failure(Fault::input, file.string(), "it holds a password and others may read it",
                  "run 'chmod 600' on it");
}

std::string first_line(const std::string& text) {
    return text.substr(0, text.find_first_of("\r\n"));
}

// The fields of one JSON object, each read by its name and form.
class Fields {
  public:
    Fields(const Json& object, std::string where) : object_(object), where_(std::move(where)) {
        if (!object_.is_object()) fail("it is not a JSON object", "write { \"field\": value }");
    }

    [[noreturn]] void fail(const std::string& what, const std::string& mend) const {
        throw Failure(Fault::input, where_, what, mend);
    }

    [[nodiscard]] bool has(std::string_view field) const { return object_.contains(field); }

    [[nodiscard]] std::string text(const std::string& field) const {
        if (!has(field)) fail(trf("\"{}\" is missing", field), "add it");
        const Json& value = object_.at(field);
        if (!value.is_string() || value.get_ref<const std::string&>().empty())
            fail(trf("\"{}\" is not a text", field), "write it between quotation marks");
        std::string words = value.get<std::string>();
        if (std::any_of(words.begin(), words.end(), [](char c) { return c >= 0 && c < ' '; }))
            fail(trf("\"{}\" holds a line break", field), "write it on one line");
        return words;
    }

    [[nodiscard]] std::string text_or_empty(const std::string& field) const {
        return has(field) ? text(field) : std::string();
    }

    [[nodiscard]] int port(int usual) const {
        if (!has("port")) return usual;
        const Json& value = object_.at("port");
        constexpr int highest = 65535;
        if (!value.is_number_integer() || value.get<std::int64_t>() < 1 ||
            value.get<std::int64_t>() > highest)
            fail("\"port\" is not a whole number from 1 to 65535", "give the server's port");
        return value.get<int>();
    }

    // A field that is none of these is most likely a slip of the pen.
    void only(std::span<const std::string_view> known) const {
        for (const auto& [field, value] : object_.items())
            if (std::find(known.begin(), known.end(), field) == known.end())
                fail(trf("\"{}\" is no field of it", field), "take it out, or mend its name");
    }

    [[nodiscard]] Fields within(const std::string& field) const {
        return {object_.at(field), fmt::format("{}, \"{}\"", where_, field)};
    }

  private:
    const Json& object_;
    std::string where_;
};

Tls tls_of(const Fields& fields) {
    const std::string words = fields.text_or_empty("tls");
    if (words.empty() || words == "from_start") return Tls::from_start;
    if (words == "starttls") return Tls::starttls;
    fields.fail(trf("\"tls\" is \"{}\"", words), "write \"from_start\" or \"starttls\"");
}

PasswordSource password_source(const Fields& fields) {
    PasswordSource source;
    for (const PasswordField& known : password_fields) {
        const std::string field(known.field);
        if (!fields.has(field)) continue;
        if (source.place != Place::nowhere)
            fields.fail("it names more than one place for the password", "keep one");
        source.place = known.place;
        const std::string words = fields.text(field);
        if (known.place != Place::account_file) source.name = words;
    }
    return source;
}

struct UsualPorts {
    int from_start = 0;
    int starttls = 0;
};

MailServer server_of(const Fields& fields, const UsualPorts& usual) {
    MailServer server;
    server.host = fields.text("host");
    if (server.host.find_first_of("/@ \\?#") != std::string::npos)
        fields.fail("\"host\" is not the name of a machine", "write the name alone");
    server.tls = tls_of(fields);
    server.port = fields.port(server.tls == Tls::from_start ? usual.from_start : usual.starttls);
    server.user = fields.text_or_empty("user");
    server.password = password_source(fields);
    if (server.user.empty() != (server.password.place == Place::nowhere))
        fields.fail("a user and the place of the password belong together", "give both or neither");
    return server;
}

std::string password_in_account(const MailAccount& account, const MailServer& server) {
    const Json json = Json::parse(whole_text(account.file, account_unreadable));
    const bool sends = account.smtp && &*account.smtp == &server;
    return json.at(sends ? "smtp" : "imap").at("password").get<std::string>();
}

std::string said_by_command(const std::string& command) {
    struct Close {
        int* status;
        void operator()(FILE* pipe) const { *status = ::pclose(pipe); }
    };
    int status = -1;
    std::string said;
    {
        const std::unique_ptr<FILE, Close> pipe(::popen(command.c_str(), "re"), Close{&status});
        std::array<char, 512> piece{};
        constexpr std::size_t most = 64 * 1024;
        while (pipe && said.size() < most) {
            const std::size_t count = std::fread(piece.data(), 1, piece.size(), pipe.get());
            if (count == 0) break;
            said.append(piece.data(), count);
        }
    }
    return status == 0 ? first_line(said) : std::string();
}

}  // namespace

MailAccount read_account(const fs::path& file) {
    Json json;
    try {
        json = Json::parse(whole_text(file, account_unreadable));
    } catch (const Json::parse_error& error) {
        throw Failure(Fault::input, file.string(), trf("it is no JSON (near byte {})", error.byte),
                      "compare it with the example in docs/post.md");
    }
    const Fields fields(json, file.string());
    constexpr std::array<std::string_view, 4> top{"from", "smtp", "imap", "ca_file"};
    fields.only(top);
    constexpr std::array<std::string_view, 9> of_server{"host",
                                                        "port",
                                                        "tls",
                                                        "user",
                                                        "password",
                                                        "password_file",
                                                        "password_environment",
                                                        "password_command",
                                                        "folder"};
    MailAccount account;
    account.file = file;
    account.from = parse_mailbox(fields.text("from"), file.string() + ", \"from\"");
    if (fields.has("smtp")) {
        const Fields smtp = fields.within("smtp");
        smtp.only(std::span(of_server).first(of_server.size() - 1));
        account.smtp = server_of(smtp, {.from_start = 465, .starttls = 587});
    }
    if (fields.has("imap")) {
        const Fields imap = fields.within("imap");
        imap.only(of_server);
        account.imap = server_of(imap, {.from_start = 993, .starttls = 143});
        account.folder = imap.text("folder");
    }
    if (fields.has("ca_file")) account.ca_file = file.parent_path() / fields.text("ca_file");
    for (const auto* server : {&account.smtp, &account.imap})
        if (*server && (*server)->password.place == Place::account_file) demand_private(file);
    return account;
}

std::string password_of(const MailAccount& account, const MailServer& server) {
    const std::string& name = server.password.name;
    std::string password;
    switch (server.password.place) {
        case Place::nowhere:
            return "";
        case Place::account_file:
            demand_private(account.file);
            password = password_in_account(account, server);
            break;
        case Place::file: {
            const fs::path file = account.file.parent_path() / name;
            password = first_line(whole_text(file, tr_later("the password cannot be read")));
            demand_private(file);
            break;
        }
        case Place::environment:
            if (const char* value = std::getenv(name.c_str())) password = value;
            break;
        case Place::command:
            password = said_by_command(name);
            break;
    }
    if (password.empty())
        throw Failure(Fault::input, account.file.string(),
                      trf("there is no password for {} at the place it names", server.host),
                      "check \"password_file\", \"password_environment\" or \"password_command\"");
    return password;
}

}  // namespace frayhold::post
