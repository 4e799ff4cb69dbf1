// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "web/certificate.h"
#include "web/site.h"

namespace frayhold::web {

// The door for phones: an address of this machine on the local network.
struct NetOptions {
    std::string address;                     // "192.168.1.7"
    int port = 0;                            // 0: any that is free
    std::optional<Certificate> certificate;  // without one the door is plain HTTP
};

struct ServerOptions {
    int port = 0;  // on 127.0.0.1; 0: any that is free
    std::optional<NetOptions> net;
};

// HTTP for a Site: takes its ports when made, so that their addresses are known before the site is.
class Server {
  public:
    // Throws Failure (Fault::outside) where a port is taken or the address is not this machine's.
    explicit Server(const ServerOptions& options);
    ~Server();
    Server(const Server&) = delete;
    Server& operator=(const Server&) = delete;

    // "http://127.0.0.1:8480", without a slash at its end.
    [[nodiscard]] std::string bench_address() const;
    [[nodiscard]] DoorNames bench_names() const;
    // Empty where there is no such door.
    [[nodiscard]] std::string net_address() const;
    [[nodiscard]] DoorNames net_names() const;

    // Answers until stop() is called from another thread.
    void serve(Site& site);
    void stop();

  private:
    struct Inside;
    std::unique_ptr<Inside> inside_;
};

// The addresses of this machine on its local networks (IPv4, no loopback).
[[nodiscard]] std::vector<std::string> local_addresses();

}  // namespace frayhold::web
