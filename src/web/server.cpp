// SPDX-License-Identifier: Apache-2.0
#include "web/server.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <httplib.h>
#include <ifaddrs.h>
#include <net/if.h>

#include <algorithm>
#include <array>
#include <thread>

#include "language/tr.h"

namespace frayhold::web {
namespace {

// A 48-megapixel photo is some 30 MB.
constexpr std::size_t most_body_bytes = 100'000'000;
constexpr std::size_t threads = 16;
// A browser that keeps a connection keeps a thread: not for long.
constexpr int keep_alive_s = 2;
constexpr std::size_t keep_alive_requests = 200;
constexpr int slowest_read_s = 10;
constexpr std::size_t longest_header_bytes = 8'192;

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return static_cast<char>(c < 128 ? std::tolower(c) : c); });
    return text;
}

Request head_of(const httplib::Request& from, Door door) {
    Request request;
    request.method = from.method == "HEAD" ? "GET" : from.method;
    request.path = from.path;
    request.door = door;
    request.from = from.remote_addr;
    for (const auto& [name, value] : from.headers)
        if (value.size() <= longest_header_bytes) request.headers.emplace(lower(name), value);
    return request;
}

Request request_of(const httplib::Request& from, Door door) {
    Request request = head_of(from, door);
    request.body = from.body;
    for (const auto& [name, value] : from.params) request.fields.emplace(name, value);
    for (const auto& [name, part] : from.files) {
        if (part.filename.empty())
            request.fields.emplace(name, part.content);
        else
            request.files.emplace(name, UploadedFile{part.filename, part.content});
    }
    return request;
}

void put(Answer answer, httplib::Response& response) {
    response.status = answer.status;
    for (const auto& [name, value] : answer.headers) response.set_header(name, value);
    response.set_content(answer.body, answer.type);
}

void set_up(httplib::Server& server) {
    server.new_task_queue = [] { return new httplib::ThreadPool(threads); };
    server.set_payload_max_length(most_body_bytes);
    server.set_keep_alive_max_count(keep_alive_requests);
    server.set_keep_alive_timeout(keep_alive_s);
    server.set_read_timeout(slowest_read_s);
    server.set_tcp_nodelay(true);
    // Without the library's own choice, by which two programs could share one port unknown to each other.
    server.set_socket_options([](socket_t socket) {
        const int yes = 1;
        setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    });
}

int take_port(httplib::Server& server, const std::string& address, int port) {
    if (port == 0)
        port = server.bind_to_any_port(address);
    else if (!server.bind_to_port(address, port))
        port = -1;
    if (port < 0)
        throw Failure(Fault::outside, tr("port"), "it is taken, or the address is not this machine's",
                      "choose another one");
    return port;
}

}  // namespace

struct Server::Inside {
    httplib::Server bench;
    int bench_port = 0;
    std::unique_ptr<httplib::Server> net;
    std::string net_ip;
    int net_port = 0;
    bool tls = false;
    std::optional<Certificate> certificate;

    void answer_with(httplib::Server& server, Site& site, Door door) {
        server.set_pre_routing_handler([&site, door](const httplib::Request& from, httplib::Response& to) {
            std::optional<Answer> refusal = site.refusal_by_head(head_of(from, door));
            if (!refusal) return httplib::Server::HandlerResponse::Unhandled;
            put(*std::move(refusal), to);
            return httplib::Server::HandlerResponse::Handled;
        });
        const auto handler = [&site, door](const httplib::Request& from, httplib::Response& to) {
            put(site.answer(request_of(from, door)), to);
        };
        server.Get(".*", handler);
        server.Post(".*", handler);
    }
};

Server::Server(const ServerOptions& options) : inside_(std::make_unique<Inside>()) {
    set_up(inside_->bench);
    inside_->bench_port = take_port(inside_->bench, "127.0.0.1", options.port);
    if (!options.net) return;
    inside_->certificate = options.net->certificate;
    inside_->tls = inside_->certificate.has_value();
    if (inside_->tls)
        inside_->net = std::make_unique<httplib::SSLServer>(inside_->certificate->certificate(),
                                                            inside_->certificate->key());
    else
        inside_->net = std::make_unique<httplib::Server>();
    set_up(*inside_->net);
    inside_->net_ip = options.net->address;
    inside_->net_port = take_port(*inside_->net, options.net->address, options.net->port);
}

Server::~Server() {
    stop();
}

std::string Server::bench_address() const {
    return fmt::format("http://127.0.0.1:{}", inside_->bench_port);
}

DoorNames Server::bench_names() const {
    return {
        "http",
        {fmt::format("127.0.0.1:{}", inside_->bench_port), fmt::format("localhost:{}", inside_->bench_port)}};
}

std::string Server::net_address() const {
    if (!inside_->net) return "";
    return fmt::format("{}://{}:{}", inside_->tls ? "https" : "http", inside_->net_ip, inside_->net_port);
}

DoorNames Server::net_names() const {
    if (!inside_->net) return {};
    return {inside_->tls ? "https" : "http", {fmt::format("{}:{}", inside_->net_ip, inside_->net_port)}};
}

void Server::serve(Site& site) {
    inside_->answer_with(inside_->bench, site, Door::bench);
    std::thread phones;
    if (inside_->net) {
        inside_->answer_with(*inside_->net, site, Door::net);
        phones = std::thread([this] { inside_->net->listen_after_bind(); });
    }
    inside_->bench.listen_after_bind();
    if (inside_->net) inside_->net->stop();
    if (phones.joinable()) phones.join();
}

void Server::stop() {
    inside_->bench.stop();
    if (inside_->net) inside_->net->stop();
}

std::vector<std::string> local_addresses() {
    std::vector<std::string> list;
    ifaddrs* all = nullptr;
    if (getifaddrs(&all) != 0) return list;
    for (const ifaddrs* each = all; each != nullptr; each = each->ifa_next) {
        if (each->ifa_addr == nullptr || each->ifa_addr->sa_family != AF_INET) continue;
        if ((each->ifa_flags & IFF_LOOPBACK) != 0 || (each->ifa_flags & IFF_UP) == 0) continue;
        std::array<char, INET_ADDRSTRLEN> text{};
        const auto* address = reinterpret_cast<const sockaddr_in*>(each->ifa_addr);
        if (inet_ntop(AF_INET, &address->sin_addr, text.data(), text.size()) != nullptr)
            list.emplace_back(text.data());
    }
    freeifaddrs(all);
    return list;
}

}  // namespace frayhold::web
