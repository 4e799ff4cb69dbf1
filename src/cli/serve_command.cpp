// SPDX-License-Identifier: Apache-2.0
#include "cli/serve_command.h"

#include <signal.h>
#include <spawn.h>

#include <CLI/CLI.hpp>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <ostream>
#include <thread>

#include "cli/account_option.h"
#include "cli/whole_number.h"
#include "desk/mail_setup.h"
#include "desk/shipped.h"
#include "desk/usual_setup.h"
#include "language/tr.h"
#include "web/phone_pages.h"
#include "web/qr.h"
#include "web/server.h"

extern char** environ;

namespace frayhold::cli {
namespace {

namespace fs = std::filesystem;

constexpr int usual_port = 8480;
constexpr int usual_net_port = 8481;
constexpr int last_port = 65535;

struct ServeOptions {
    std::string who;
    int port = usual_port;
    bool open = false;
    bool bench_net = false;
    std::string address;
    int net_port = usual_net_port;
    bool plain = false;
    std::string account;
    std::string outfit;
};

// Where programs keep what they made for themselves (XDG Base Directory Specification).
fs::path state_folder() {
    if (const char* state = std::getenv("XDG_STATE_HOME"); state != nullptr && *state == '/')
        return fs::path(state) / "frayhold";
    if (const char* home = std::getenv("HOME"); home != nullptr && *home == '/')
        return fs::path(home) / ".local" / "state" / "frayhold";
    throw Failure(Fault::outside, "HOME", "there is no folder to keep the certificate in",
                  "set HOME, or ask for --plain");
}

std::string address_of(const ServeOptions& options) {
    if (!options.address.empty()) return options.address;
    const std::vector<std::string> all = web::local_addresses();
    if (all.empty())
        throw Failure(Fault::outside, "--bench-net", "this machine is on no local network",
                      "join the phone's network, or name the address with --address");
    return all.front();
}

web::ServerOptions server_options(const ServeOptions& options) {
    web::ServerOptions out;
    out.port = options.port;
    if (!options.bench_net) return out;
    web::NetOptions net;
    net.address = address_of(options);
    net.port = options.net_port;
    if (!options.plain) net.certificate = web::Certificate::kept_in(state_folder(), net.address);
    out.net = net;
    return out;
}

// The account's file is read once, at the start; the password each time it is needed.
std::optional<web::PostDoor> post_door(const ServeOptions& options) {
    if (options.account.empty()) return std::nullopt;
    const auto account = account_of(options.account);
    web::PostDoor door;
    door.from = post::to_text(account->from);
    if (account->smtp) door.send = desk::sender_of(account);
    if (account->imap) door.replies = desk::reply_folder_of(account);
    return door;
}

void open_browser(const std::string& address) {
    const std::string program = "xdg-open";
    std::string first = program, second = address;
    char* const words[] = {first.data(), second.data(), nullptr};
    pid_t child = 0;
    posix_spawnp(&child, program.c_str(), nullptr, nullptr, words, environ);
}

void say_where(std::ostream& out, const web::Server& server, web::Site& site,
               const web::ServerOptions& options) {
    out << trf("The bench is open at {}/", server.bench_address()) << '\n';
    if (options.net) {
        web::NetDoor door{server.net_address(), ""};
        const std::string address = web::pairing_address(site.pairing(), door, {"/", record::Role::helper});
        out << '\n' << web::qr_lines(address) << '\n';
        out << trf("To pair a helper's phone, scan this within ten minutes, or open\n  {}", address) << '\n'
            << tr("The page 'Phones' makes codes for keepers and competent persons.") << '\n';
        if (options.net->certificate)
            out << tr("The phone will warn of a certificate it does not know. Compare its SHA-256 "
                      "fingerprint:")
                << "\n  " << options.net->certificate->fingerprint() << '\n';
        else
            out << tr("This door is PLAIN: whoever is on this network can read what the phone sends.")
                << '\n';
    }
    out << tr("Stop it with Ctrl+C.") << '\n' << std::flush;
}

// Serves until the program is told to end.
void run_serve(Session& session, const ServeOptions& options) {
    const store::Location store = store_of(session);
    const web::ServerOptions wanted = server_options(options);
    web::Server server(wanted);
    web::SiteSetup setup;
    setup.desk_for = [&session, store](const std::string& who) {
        desk::Setup desk = desk::usual_setup(store, who);
        if (session.clock) desk.clock = session.clock;
        return desk;
    };
    setup.who = options.who;
    setup.pages = desk::shipped_folders("templates/pages");
    setup.bench_names = server.bench_names();
    setup.net_names = server.net_names();
    if (wanted.net)
        setup.net = web::NetDoor{server.net_address(),
                                 wanted.net->certificate ? wanted.net->certificate->fingerprint() : ""};
    setup.post = post_door(options);
    setup.outfit = options.outfit;
    setup.languages = session.languages;
    web::Site site(std::move(setup));

    // Every thread made from here on leaves these signals to the wait below.
    sigset_t ends;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ends, nullptr);
    signal(SIGPIPE, SIG_IGN);  // a browser may go away in the middle of an answer
    std::thread serving([&] { server.serve(site); });
    say_where(session.out, server, site, wanted);
    if (options.open) open_browser(server.bench_address() + "/");
    int received = 0;
    sigwait(&ends, &received);
    server.stop();
    serving.join();
    session.out << tr("The bench is closed.") << '\n';
}

}  // namespace

void add_serve_command(CLI::App& app, Session& session) {
    CLI::App& command = *app.add_subcommand("serve", tr("Open the bench: the pages for browser and phone"));
    auto options = std::make_shared<ServeOptions>();
    add_by_option(command, options->who);
    take_whole_number(command.add_option("--port", options->port,
                                         trf("port on this machine, 0 for any (default {})", usual_port)),
                      0, last_port);
    command.add_flag("--open", options->open, tr("open the page in the browser"));
    CLI::Option* net = command.add_flag("--bench-net", options->bench_net,
                                        tr("let paired phones on the local network in; prints a QR code"));
    command.add_option("--address", options->address, tr("this machine's address on that network"))
        ->needs(net);
    take_whole_number(command.add_option("--net-port", options->net_port,
                                         trf("port for the phones, 0 for any (default {})", usual_net_port)),
                      0, last_port)
        ->needs(net);
    command
        .add_flag("--plain", options->plain, tr("phones without TLS: others on the network can read along"))
        ->needs(net);
    add_account_option(command, options->account);
    command
        .add_option("--outfit", options->outfit, tr("your outfit's name, for letters; else FRAYHOLD_OUTFIT"))
        ->envname("FRAYHOLD_OUTFIT");
    add_caution(command);
    command.callback([&session, options] { run_serve(session, *options); });
}

}  // namespace frayhold::cli
