// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace frayhold::post {

// One person or desk that mail goes to or comes from (RFC 5322, 3.4), as a person reads it.
struct Mailbox {
    std::string name;     // may be empty
    std::string address;  // "gear@brandelvoss.example"

    bool operator==(const Mailbox&) const = default;
};

// Reads "gear@brandelvoss.example" or "Gear desk <gear@brandelvoss.example>". Throws Failure (Fault::input)
// that names the field where the text is not exactly one address with a domain, or holds control characters.
[[nodiscard]] Mailbox parse_mailbox(std::string_view text, const std::string& field);

// "Gear desk <gear@brandelvoss.example>", for a person.
[[nodiscard]] std::string to_text(const Mailbox& mailbox);

}  // namespace frayhold::post
