// SPDX-License-Identifier: Apache-2.0
#include "post/account.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>

#include "record/temp_folder.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

namespace fs = std::filesystem;

fs::path written(const testing::TempFolder& folder, const std::string& text, fs::perms mode = fs::perms(0644),
                 const std::string& name = "account.json") {
    const fs::path file = folder.path() / name;
    std::ofstream(file) << text;
    fs::permissions(file, mode);
    return file;
}

std::string refusal(const std::string& text, fs::perms mode = fs::perms(0644)) {
    const testing::TempFolder folder;
    try {
        (void)read_account(written(folder, text, mode));
    } catch (const Failure& failure) {
        CHECK(failure.error().fault == Fault::input);
        CHECK(failure.error().where.find("account.json") != std::string::npos);
        return failure.error().what;
    }
    return "";
}

std::string account_with(const std::string& server_fields) {
    return R"({"from": "ida@korreltrees.example", "smtp": {"host": "mail.korreltrees.example")" +
           server_fields + "}}";
}

std::string password_by(const std::string& fields, const testing::TempFolder& folder,
                        fs::perms mode = fs::perms(0644)) {
    const MailAccount account =
        read_account(written(folder, account_with(R"(, "user": "ida", )" + fields), mode));
    return password_of(account, *account.smtp);
}

}  // namespace

TEST_CASE("An account is read with the usual ports, its files named from its own folder") {
    const testing::TempFolder folder;
    const MailAccount account = read_account(written(folder, R"({
        "from": "Ida Fenwright <ida@korreltrees.example>",
        "smtp": {"host": "mail.korreltrees.example", "tls": "starttls"},
        "imap": {"host": "mail.korreltrees.example", "folder": "Gear", "user": "ida", "password_file": "secret"},
        "ca_file": "own.pem"})"));
    CHECK(account.from == Mailbox{"Ida Fenwright", "ida@korreltrees.example"});
    CHECK(account.smtp->port == 587);
    CHECK(account.imap->port == 993);
    CHECK(account.folder == "Gear");
    CHECK(account.ca_file == folder.path() / "own.pem");
    CHECK(password_of(account, *account.smtp).empty());
}

TEST_CASE("What is wrong with an account is named") {
    CHECK(refusal("{").find("it is no JSON") == 0);
    CHECK(refusal("[]") == "it is not a JSON object");
    CHECK(refusal("{}") == "\"from\" is missing");
    CHECK(refusal(R"({"from": 7})") == "\"from\" is not a text");
    CHECK_FALSE(refusal(R"({"from": "nobody"})").empty());
    CHECK(refusal(R"({"from": "a@b.example", "stmp": {}})") == "\"stmp\" is no field of it");
    CHECK(refusal(R"({"from": "a@b.example", "smtp": {}})") == "\"host\" is missing");
    CHECK(refusal(account_with(R"(, "port": 0)")) == "\"port\" is not a whole number from 1 to 65535");
    CHECK(refusal(account_with(R"(, "port": "465")")) == "\"port\" is not a whole number from 1 to 65535");
    CHECK(refusal(account_with(R"(, "tls": "none")")) == "\"tls\" is \"none\"");
    CHECK(refusal(account_with(R"(, "user": "ida")")) ==
          "a user and the place of the password belong together");
    CHECK(refusal(account_with(R"(, "user": "ida", "password_file": "a", "password_command": "b")")) ==
          "it names more than one place for the password");
    CHECK(refusal(account_with(R"(, "folder": "Gear")")) == "\"folder\" is no field of it");
    CHECK(refusal(R"({"from": "a@b.example", "imap": {"host": "m.example"}})") == "\"folder\" is missing");
    CHECK(refusal(R"({"from": "a@b.example", "smtp": {"host": "m.example/x"}})") ==
          "\"host\" is not the name of a machine");
    CHECK(refusal(R"({"from": "a@b.example", "smtp": {"host": "m\r\nx"}})") == "\"host\" holds a line break");
}

TEST_CASE("A password in the account's own file is taken only where nobody else may read it") {
    const std::string fields = R"("password": "fibre")";
    CHECK(refusal(account_with(", \"user\": \"ida\", " + fields), fs::perms(0644)) ==
          "it holds a password and others may read it");
    CHECK_FALSE(refusal(account_with(", \"user\": \"ida\", " + fields), fs::perms(0640)).empty());
    const testing::TempFolder folder;
    CHECK(password_by(fields, folder, fs::perms(0600)) == "fibre");
}

TEST_CASE("A password comes from a private file, the environment or a command, one line of it") {
    const testing::TempFolder folder;
    written(folder, "fibre\nmore", fs::perms(0600), "secret");
    CHECK(password_by(R"("password_file": "secret")", folder) == "fibre");
    written(folder, "fibre", fs::perms(0604), "open");
    CHECK_THROWS_AS((void)password_by(R"("password_file": "open")", folder), Failure);
    CHECK_THROWS_AS((void)password_by(R"("password_file": "missing")", folder), Failure);
    ::setenv("FRAYHOLD_TEST_PASSWORD", "from the environment", 1);
    CHECK(password_by(R"("password_environment": "FRAYHOLD_TEST_PASSWORD")", folder) ==
          "from the environment");
    CHECK_THROWS_AS((void)password_by(R"("password_environment": "FRAYHOLD_NOT_SET")", folder), Failure);
    CHECK(password_by(R"("password_command": "echo from a command; echo more")", folder) == "from a command");
    CHECK_THROWS_AS((void)password_by(R"("password_command": "echo half; exit 1")", folder), Failure);
    CHECK_THROWS_AS((void)password_by(R"("password_command": "true")", folder), Failure);
}

}  // namespace frayhold::post
