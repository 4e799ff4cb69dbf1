// SPDX-License-Identifier: Apache-2.0
#include "web/server.h"

#include <arpa/inet.h>
#include <httplib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <filesystem>
#include <thread>

#include "sample_site.h"

// The same over real sockets on this machine.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

struct Running {
    desk::sample::DeskFolder folder;
    testing::TempFolder state;
    ServerOptions options;
    std::unique_ptr<Server> server;
    std::unique_ptr<Site> site;
    std::thread thread;

    explicit Running(bool tls = false) {
        if (tls)
            options.net = NetOptions{"127.0.0.1", 0, Certificate::kept_in(state.path() / "new", "127.0.0.1")};
        server = std::make_unique<Server>(options);
        SiteSetup setup = setup_of(folder);
        setup.bench_names = server->bench_names();
        setup.net_names = server->net_names();
        if (tls) setup.net = NetDoor{server->net_address(), options.net->certificate->fingerprint()};
        site = std::make_unique<Site>(std::move(setup));
        thread = std::thread([this] { server->serve(*site); });
        for (int i = 0; i < 200 && !httplib::Client(server->bench_address()).Get("/assets/mark.svg"); ++i)
            std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    ~Running() {
        server->stop();
        thread.join();
    }
    [[nodiscard]] int port() const {
        return std::stoi(server->bench_address().substr(server->bench_address().rfind(':') + 1));
    }

    // What the server answers to these very bytes, as far as it comes within a second.
    [[nodiscard]] std::string raw(const std::string& bytes) const {
        const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_port = htons(static_cast<std::uint16_t>(port()));
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        REQUIRE(connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
        const timeval patience{1, 0};
        setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
        (void)send(socket, bytes.data(), bytes.size(), MSG_NOSIGNAL);
        std::string answer(4096, '\0');
        const ssize_t size = recv(socket, answer.data(), answer.size(), 0);
        close(socket);
        answer.resize(size > 0 ? static_cast<std::size_t>(size) : 0);
        return answer;
    }
};

}  // namespace

TEST_CASE("The server answers on loopback with its guards, and turns strangers away before their body") {
    Running running;
    httplib::Client client(running.server->bench_address());
    const auto page = client.Get("/");
    REQUIRE(page);
    CHECK(page->status == 200);
    CHECK(page->get_header_value("Content-Security-Policy").find("script-src 'self'") != std::string::npos);
    CHECK(page->get_header_value("Set-Cookie").find("SameSite=Strict") != std::string::npos);
    CHECK(page->get_header_value_count("Content-Security-Policy") == 1);

    const std::string host_line = "Host: 127.0.0.1:" + std::to_string(running.port()) + "\r\n";
    CHECK(running.raw("GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n").find(" 421 ") != std::string::npos);
    CHECK(running.raw("POST /hold/new HTTP/1.1\r\nHost: evil.example\r\nContent-Length: 50000000\r\n\r\n")
              .find(" 421 ") != std::string::npos);
    CHECK(running.raw("PUT / HTTP/1.1\r\n" + host_line + "\r\n").find(" 405 ") != std::string::npos);
    CHECK(running.raw("GET /assets/%2e%2e/layout.mustache HTTP/1.1\r\n" + host_line + "\r\n").find(" 404 ") !=
          std::string::npos);

    // None of these may stop it.
    for (const std::string& bytes :
         {std::string("\r\n\r\n"), std::string("GET\r\n\r\n"), std::string("\0\0\0\0", 4),
          "GET / HTTP/9.9\r\n" + host_line + "\r\n",
          "GET " + std::string(100'000, '/') + " HTTP/1.1\r\n" + host_line + "\r\n",
          "GET / HTTP/1.1\r\n" + host_line + "X: " + std::string(100'000, 'x') + "\r\n\r\n",
          "POST / HTTP/1.1\r\n" + host_line + "Content-Length: -1\r\n\r\n",
          "POST / HTTP/1.1\r\n" + host_line + "Content-Length: 99999999999\r\n\r\nx",
          "POST / HTTP/1.1\r\n" + host_line + "Transfer-Encoding: chunked\r\n\r\nzz\r\n",
          "POST / HTTP/1.1\r\n" + host_line +
              "Content-Type: multipart/form-data; boundary=a\r\nContent-Length: "
              "20\r\n\r\n--a\r\nContent-Dispos",
          "GET /?words=%zz%00%ff HTTP/1.1\r\n" + host_line + "\r\n",
          "GET / HTTP/1.1\r\n" + host_line + "Cookie: =;;=;\r\nRange: bytes=9-1,-5\r\n\r\n"}) {
        CAPTURE(bytes.substr(0, 60));
        const std::string answer = running.raw(bytes);
        CHECK(answer.find("root:") == std::string::npos);
        const auto again = client.Get("/");
        REQUIRE(again);
        CHECK(again->status == 200);
    }
}

TEST_CASE("A port that is taken is said so") {
    Running running;
    ServerOptions options;
    options.port = running.port();
    const Error error = testing::failure_of([&] { Server second(options); });
    CHECK(error.fault == Fault::outside);
    CHECK(error.what == "it is taken, or the address is not this machine's");
}

TEST_CASE("The door for phones speaks TLS with the certificate whose fingerprint is shown") {
    Running running(true);
    httplib::Client phone(running.server->net_address());
    phone.enable_server_certificate_verification(false);
    const auto answer = phone.Get("/");
    REQUIRE(answer);
    CHECK(answer->status == 403);
    CHECK(answer->body.find('<') == std::string::npos);
    httplib::Client plain("http" + running.server->net_address().substr(5));
    CHECK_FALSE(plain.Get("/"));
}

TEST_CASE("The certificate is made once, for its owner only, and anew for another address") {
    testing::TempFolder folder;
    const auto first = Certificate::kept_in(folder.path() / "a/b", "127.0.0.1");
    CHECK(first.fingerprint().size() == 95);
    CHECK(Certificate::kept_in(folder.path() / "a/b", "127.0.0.1").fingerprint() == first.fingerprint());
    using std::filesystem::perms;
    CHECK((std::filesystem::status(folder.path() / "a/b/bench-net.key").permissions() &
           (perms::group_all | perms::others_all)) == perms::none);
    CHECK(Certificate::kept_in(folder.path() / "a/b", "127.0.0.2").fingerprint() != first.fingerprint());
}
