// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "units/date.h"

namespace frayhold::record {

// A phone that may use the bench over the local network until it is revoked.
struct Device {
    int number = 0;      // 1, 2, 3, …; given by the store
    std::string name;    // whose it is, in words: "Ida's phone"
    std::string holder;  // the person whose name its photos and findings bear
    std::string paired_by;
    Time paired{};
    std::optional<Time> revoked;
    std::string revoked_by;

    bool operator==(const Device&) const = default;
};

}  // namespace frayhold::record
