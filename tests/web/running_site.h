// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <arpa/inet.h>
#include <httplib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <memory>
#include <string>
#include <thread>

#include "sample_site.h"
#include "web/server.h"

// The bench over real sockets on this machine.
namespace frayhold::web::sample {

struct Running {
    desk::sample::DeskFolder folder;
    testing::TempFolder state;
    ServerOptions options;
    std::unique_ptr<Server> server;
    std::unique_ptr<Site> site;
    std::thread thread;

    enum class Net { none, tls, plain };

    explicit Running(Net net = Net::none) {
        if (net != Net::none) {
            options.net = NetOptions{"127.0.0.1", 0, std::nullopt};
            if (net == Net::tls)
                options.net->certificate = Certificate::kept_in(state.path() / "new", "127.0.0.1");
        }
        server = std::make_unique<Server>(options);
        SiteSetup setup = setup_of(folder);
        setup.bench_names = server->bench_names();
        setup.net_names = server->net_names();
        if (net != Net::none)
            setup.net = NetDoor{server->net_address(),
                                net == Net::tls ? options.net->certificate->fingerprint() : ""};
        site = std::make_unique<Site>(std::move(setup));
        thread = std::thread([this] { server->serve(*site); });
        for (int i = 0; i < 200 && !httplib::Client(server->bench_address()).Get("/assets/mark.svg"); ++i)
            std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    ~Running() {
        server->stop();
        thread.join();
    }
    Running(const Running&) = delete;
    Running& operator=(const Running&) = delete;

    // "127.0.0.1:40123" of either door.
    [[nodiscard]] static std::string host_of(const std::string& address) {
        return address.substr(address.rfind('/') + 1);
    }
    [[nodiscard]] static int port_of(const std::string& address) {
        return std::stoi(address.substr(address.rfind(':') + 1));
    }
    [[nodiscard]] int port() const { return port_of(server->bench_address()); }

    // A connection to one of the doors, closed when it goes.
    class Wire {
      public:
        explicit Wire(int port, int patience_ms = 1000)
            : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
            sockaddr_in address{};
            address.sin_family = AF_INET;
            address.sin_port = htons(static_cast<std::uint16_t>(port));
            address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
            REQUIRE(connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
            const timeval patience{patience_ms / 1000, (patience_ms % 1000) * 1000};
            setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
        }
        ~Wire() { close(socket_); }
        Wire(const Wire&) = delete;
        Wire& operator=(const Wire&) = delete;

        void say(const std::string& bytes) const {
            (void)send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
        }
        // What has come, as far as it comes in time.
        [[nodiscard]] std::string heard() const {
            std::string answer(8192, '\0');
            const ssize_t size = recv(socket_, answer.data(), answer.size(), 0);
            answer.resize(size > 0 ? static_cast<std::size_t>(size) : 0);
            return answer;
        }

        // All that comes until the server closes the connection, or nothing more in time.
        [[nodiscard]] std::string heard_whole() const {
            std::string all;
            for (std::string part = heard(); !part.empty(); part = heard()) all += part;
            return all;
        }

      private:
        int socket_;
    };

    // What the server answers to these very bytes.
    [[nodiscard]] std::string raw(const std::string& bytes, int patience_ms = 1000) const {
        const Wire wire(port(), patience_ms);
        wire.say(bytes);
        return wire.heard();
    }
    // The same, the whole of it.
    [[nodiscard]] std::string raw_whole(const std::string& bytes) const {
        const Wire wire(port());
        wire.say(bytes);
        return wire.heard_whole();
    }
};

}  // namespace frayhold::web::sample
