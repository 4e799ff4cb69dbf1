// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "web/pairing.h"
#include "web/visit.h"

namespace frayhold::web {

// The door for phones, as the bench speaks of it.
struct NetDoor {
    std::string address;      // "https://192.168.1.7:8481", without a slash at its end
    std::string fingerprint;  // empty where the door is plain
};

// At the bench: the paired phones; a POST with "pair" shows a new code, one with "revoke" ends a phone.
[[nodiscard]] Answer phones_page(const Visit& visit, Pairing& pairing, const std::optional<NetDoor>& net);

// The address with a new code for the QR; `path` is where the phone goes then.
[[nodiscard]] std::string pairing_address(Pairing& pairing, const NetDoor& net, const std::string& path);

// On a phone that is not paired: the only page it gets, and only with a good code. A POST pairs it and gives
// it its cookie. `secure`: the door has TLS.
[[nodiscard]] Answer pair_page(const Request& request, desk::Desk& desk, const Pages& pages, Pairing& pairing,
                               bool secure);

}  // namespace frayhold::web
