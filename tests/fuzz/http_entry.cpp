// SPDX-License-Identifier: Apache-2.0
#include <httplib.h>

#include <cstring>
#include <string>

#include "fuzz/entries.h"
#include "web/exchange.h"
#include "web/gate.h"

namespace frayhold::fuzz {
namespace {

// A connection whose other side has said all it will say.
class Said : public httplib::Stream {
  public:
    explicit Said(Bytes bytes) : left_(bytes) {}

    [[nodiscard]] bool is_readable() const override { return true; }
    [[nodiscard]] bool is_writable() const override { return true; }
    ssize_t read(char* to, std::size_t size) override {
        const std::size_t count = std::min(size, left_.size());
        if (count > 0) std::memcpy(to, left_.data(), count);
        left_ = left_.subspan(count);
        return static_cast<ssize_t>(count);
    }
    ssize_t write(const char*, std::size_t size) override { return static_cast<ssize_t>(size); }
    void get_remote_ip_and_port(std::string& ip, int& port) const override {
        ip = "127.0.0.1";
        port = 1;
    }
    void get_local_ip_and_port(std::string& ip, int& port) const override {
        ip = "127.0.0.1";
        port = 8480;
    }
    [[nodiscard]] socket_t socket() const override { return INVALID_SOCKET; }

  private:
    Bytes left_;
};

// What the bench makes of a request before any page sees it.
void pass_the_gate(const httplib::Request& from) {
    web::Request request;
    request.method = from.method;
    request.path = from.path;
    request.body = from.body;
    for (const auto& [name, value] : from.headers) request.headers.emplace(name, value);
    for (const auto& [name, value] : from.params) request.fields.emplace(name, value);
    const web::Gate gate({"http", {"127.0.0.1:8480"}}, {"https", {"192.0.2.7:8481"}});
    static_cast<void>(gate.refusal_of_host(request));
    static_cast<void>(gate.refusal_of_post(request));
    static_cast<void>(request.cookie(web::Gate::device_cookie));
    static_cast<void>(request.words());
    static_cast<void>(web::percent_encoded(request.path));
}

class Reader : public httplib::Server {
  public:
    Reader() {
        constexpr std::size_t most_body_bytes = 100'000;
        set_payload_max_length(most_body_bytes);
        const auto handler = [](const httplib::Request& from, httplib::Response& to) {
            pass_the_gate(from);
            to.set_content("", "text/plain");
        };
        Get(".*", handler);
        Post(".*", handler);
    }
    void read(Bytes bytes) {
        Said stream(bytes);
        bool closed = false;
        static_cast<void>(process_request(stream, false, closed, nullptr));
    }
};

}  // namespace

void read_http_request(Bytes bytes) {
    Reader().read(bytes);
}

}  // namespace frayhold::fuzz
