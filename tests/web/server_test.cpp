// SPDX-License-Identifier: Apache-2.0
#include "web/server.h"

#include <catch2/catch.hpp>
#include <filesystem>

#include "running_site.h"

using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

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
    Running running(Running::Net::tls);
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
