// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "web/exchange.h"

// Who may ask: the checks before any page.
namespace frayhold::web {

// 32 bytes of the system's randomness as 64 hex digits. Throws Failure (Fault::outside) where there are none.
[[nodiscard]] std::string new_secret();

// Takes as long whichever letter differs.
[[nodiscard]] bool same_secret(const std::string& a, const std::string& b);

// The address the door answers to. A page of another site that gets its own name to point at this machine
// sends that name in Host, and a form of another site sends that site in Origin: both are turned away.
struct DoorNames {
    std::string scheme;              // "http" or "https"
    std::vector<std::string> hosts;  // "127.0.0.1:8480"
};

class Gate {
  public:
    static constexpr const char* bench_cookie = "frayhold_bench";
    static constexpr const char* device_cookie = "frayhold_device";

    Gate(DoorNames bench, DoorNames net);

    // What to answer instead, or nothing where the request may pass. By its head: the address, the method,
    // and for a POST the site it comes from.
    [[nodiscard]] std::optional<Answer> refusal_of_host(const Request& request) const;
    // A stranger at the pairing form sends a few words, and says beforehand how long they are.
    [[nodiscard]] static std::optional<Answer> refusal_of_stranger(const Request& request);
    // A POST needs this start's token in its field "token" or header "x-frayhold-token", and at the bench the
    // cookie that the first page set.
    [[nodiscard]] std::optional<Answer> refusal_of_post(const Request& request) const;

    [[nodiscard]] const std::string& token() const { return token_; }
    [[nodiscard]] bool has_bench_cookie(const Request& request) const;
    // The Set-Cookie line of the bench.
    [[nodiscard]] std::string bench_cookie_line() const;

  private:
    [[nodiscard]] const DoorNames& names(Door door) const { return door == Door::bench ? bench_ : net_; }

    DoorNames bench_;
    DoorNames net_;
    std::string token_ = new_secret();
    std::string cookie_ = new_secret();
};

}  // namespace frayhold::web
