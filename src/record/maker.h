// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace frayhold::record {

// An entry of the maker's book: how a maker is asked.
struct Maker {
    std::string name;                    // as it stands in the register's items
    std::vector<std::string> addresses;  // the first is written to
    std::string language = "en";         // of the letters
    // What a mail to them may weigh as it is sent, in bytes; the usual limit where it is not known.
    std::optional<std::int64_t> mail_limit_bytes;
    std::optional<int> reply_days;  // how long they usually take; the usual time where it is not known
    std::string note;

    bool operator==(const Maker&) const = default;
};

}  // namespace frayhold::record
