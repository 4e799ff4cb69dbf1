// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "web/pairing.h"
#include "web/visit.h"

namespace frayhold::web {

// At the bench: the paired phones; a POST with "pair" shows a new code for the role chosen, one with "revoke"
// ends a phone.
[[nodiscard]] Answer phones_page(const Visit& visit);

// The address with a new code for the QR.
[[nodiscard]] std::string pairing_address(Pairing& pairing, const NetDoor& net, const Pairing::Grant& grant);

// On a phone that is not paired: the only page it gets, and only with a good code. A POST pairs it and gives
// it its cookie. `secure`: the door has TLS.
[[nodiscard]] Answer pair_page(const Request& request, desk::Desk& desk, const Pages& pages, Pairing& pairing,
                               bool secure);

}  // namespace frayhold::web
