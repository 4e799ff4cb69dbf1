// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <signal.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <thread>

#include "photo/sha256.h"
#include "post/mail_servers.h"
#include "program.h"

using frayhold::post::Tls;
using mail_servers::servers;
using program::Folder;
using program::Ran;

namespace {

// The fenced blocks of docs/post.md in one language, one behind the other, as a reader would copy them.
void write_private(const Folder& folder, const std::string& name, const std::string& text) {
    folder.write(name, text);
    std::filesystem::permissions(folder.file(name), std::filesystem::perms(0600));
}

const std::string ready_hold = R"(set -euo pipefail
export FRAYHOLD_BY="Ida Fenwright"
frayhold item add KT-R014 --kind rope_low_stretch --maker "Brandel & Voss Ropeworks" --model "Arbolane 11"
frayhold hold open KT-R014 --seen "Sheath fibres broken over some 3 cm"
hold=$(frayhold hold list KT-R014 | awk '/^H-/ {print $1}')
for role in label whole_item close_up other_side; do
  frayhold photo waive "$hold" $role --reason "the camera fell into the brook"
done
)";

std::string mail(const std::string& subject, const std::string& words) {
    return fmt::format(
        "From: Gear desk <gear@brandelvoss.example>\r\nTo: ida@korreltrees.example\r\nSubject: "
        "{}\r\n\r\n{}\r\n",
        subject, words);
}

}  // namespace

TEST_CASE("Every line of docs/post.md runs as written, against real servers") {
    const Folder folder;
    folder.write("account.json", mail_servers::as_json(servers().account(Tls::from_start)));
    const int year = static_cast<int>(
        std::chrono::year_month_day(std::chrono::floor<std::chrono::days>(std::chrono::system_clock::now()))
            .year());
    servers().drop(mail(fmt::format("Re: [H-{}-0001] Arbolane 11", year), "please send it to us"));
    servers().drop(mail("your rope", "which rope was it?"));
    servers().drop(mail("Spring prices", "all ropes down by a tenth"));
    const Ran ran = folder.shell(ready_hold + program::blocks_of("docs/post.md") +
                                 "frayhold verify\nfrayhold hold show \"$hold\"\n");
    INFO(ran.out);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("query 1 is taken over by the mail server; the reply is due by") != std::string::npos);
    CHECK(ran.out.find("query 2 is taken over by the mail server") != std::string::npos);
    CHECK(ran.out.find("Nothing is in the outbox.") != std::string::npos);
    CHECK(ran.out.find("1 placed, 2 unplaced") != std::string::npos);
    CHECK(ran.out.find("mail 2 is set aside") != std::string::npos);
    CHECK(ran.out.find("the maker's answer is entered: send it in") != std::string::npos);
    CHECK(ran.out.find("as: send it in") != std::string::npos);
    CHECK(folder.read("due.ics").find("BEGIN:VEVENT") != std::string::npos);
    CHECK(folder.read("reminder.eml").find("In-Reply-To: <H-") != std::string::npos);
    // The two queries come back to the same folder, and are no replies.
    for (int wait = 0; wait < 400 && servers().mails().size() < 5; ++wait)
        std::this_thread::sleep_for(std::chrono::milliseconds(25));
    const Ran fetched = folder.shell("frayhold post fetch --account account.json --by 'Ida Fenwright'");
    INFO(fetched.err);
    CHECK(fetched.out.find("Fetched: 0 placed, 0 unplaced") != std::string::npos);
    // The password is in no file but its own.
    const Ran found = folder.shell("grep -rl Ashmeer-7 . || true");
    CHECK(found.out == "");
}

TEST_CASE("The account in docs/post.md is one that can be used") {
    const Folder folder;
    folder.write("account.json", program::blocks_of("docs/post.md", "json"));
    write_private(folder, "mail.password", "fibre\n");
    const frayhold::post::MailAccount account = frayhold::post::read_account(folder.file("account.json"));
    CHECK(frayhold::post::password_of(account, account.smtp.value()) == "fibre");
}

TEST_CASE("A query that cannot be sent is told with exit code 5, and waits") {
    const Folder folder;
    std::string account = mail_servers::as_json(servers().account(Tls::from_start));
    account.replace(account.find("ca.pem"), 6, "other-ca.pem");
    folder.write("account.json", account);
    const Ran ran = folder.shell(ready_hold + R"(
frayhold query make "$hold" --to gear@brandelvoss.example --from ida@korreltrees.example --ask fit -o query.eml
frayhold query send "$hold" 1 --account account.json || echo "exit code $?"
frayhold post outbox
frayhold query send "$hold" 1 --later || echo "exit code $?"
frayhold post withdraw "$hold" 1
frayhold query sent "$hold" 1
)");
    INFO(ran.out);
    CHECK(ran.out.find("waiting to be sent, next try") != std::string::npos);
    CHECK(ran.out.find("exit code 5") != std::string::npos);
    CHECK(ran.out.find("exit code 4") != std::string::npos);
    CHECK(ran.err.find("the server's certificate is not to be trusted; mend the account's settings") !=
          std::string::npos);
    CHECK(ran.out.find("query 1 is sent; the reply is due by") != std::string::npos);
}

TEST_CASE("A program that is killed while it sends loses nothing and sends nothing twice") {
    const bool at_the_end = GENERATE(false, true);
    const std::string stage = at_the_end ? "dot" : "body";
    const Folder folder;
    mail_servers::Scripted server({"hang:" + stage});
    folder.write("account.json", mail_servers::as_json(server.account()));
    const std::string settings = "export FRAYHOLD_ACCOUNT=account.json FRAYHOLD_BY='Ida Fenwright'\n";
    // With photos it is larger than all that a system holds on the way to a server that reads no more.
    const Ran made = folder.shell(
        ready_hold +
        "for photo in fray-near-side fray-far-side core; do frayhold photo add \"$hold\" " FRAYHOLD_SOURCE_DIR
        "/demo-photos/arbolane-$photo.jpg --role second_view; done\n"
        "frayhold query make \"$hold\" --to gear@brandelvoss.example --from "
        "ida@korreltrees.example --ask fit -o query.eml\necho \"$hold\" > hold\n");
    INFO(made.err);
    REQUIRE(made.exit_code == 0);
    std::thread sending([&] {
        (void)folder.shell(settings +
                           "frayhold query send \"$(cat hold)\" 1 &\necho $! > pid.part\n"
                           "mv pid.part pid\nwait $!");
    });
    server.wait_for("at " + stage);
    while (!std::filesystem::exists(folder.file("pid")))
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    REQUIRE(::kill(std::stoi(folder.read("pid")), SIGKILL) == 0);
    sending.join();

    const Ran after = folder.shell(settings +
                                   "frayhold post run --send-only || echo \"exit code $?\"\n"
                                   "frayhold post outbox\nfrayhold verify\n");
    INFO(after.out);
    INFO(after.err);
    CHECK(after.exit_code == 0);
    if (at_the_end) {
        CHECK(after.out.find("query 1 is sent or not: nobody knows") != std::string::npos);
        CHECK(after.out.find("exit code 5") != std::string::npos);
        CHECK(folder.shell(settings + "frayhold post settle \"$(cat hold)\" 1 --was-sent").exit_code == 0);
    } else {
        CHECK(after.out.find("From a run that was cut short: ") == 0);
        CHECK(after.out.find("query 1 is taken over by the mail server") != std::string::npos);
    }
    const Ran shown = folder.shell("frayhold query list \"$(cat hold)\"");
    CHECK(shown.out.find("not yet") == std::string::npos);
    // What went out is what was kept, and went out once.
    if (at_the_end) return;
    const std::string message = folder.read("query.eml");
    server.wait_for("accepted " + frayhold::photo::sha256_hex(std::as_bytes(std::span(message))));
}
