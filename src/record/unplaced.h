// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "units/date.h"

namespace frayhold::record {

// A mail that was fetched and belongs to no hold as far as it says: a person places it or sets it aside.
struct UnplacedMail {
    int number = 0;  // 1, 2, 3, …; given by the store
    std::string from;
    std::string subject;
    std::string text;
    Time received{};
    std::string sha256;  // of the mail; empty where it was too large to be fetched
    std::string why;     // it was not placed: "it names no hold that is known here"
    std::string fetched_by;
    Time fetched{};
    // What a person did with it: either placed it with a hold, or wrote why it is set aside.
    std::string hold;
    std::string set_aside;
    std::string settled_by;
    std::optional<Time> settled;

    bool operator==(const UnplacedMail&) const = default;
};

}  // namespace frayhold::record
