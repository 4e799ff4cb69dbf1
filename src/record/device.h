// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"

namespace frayhold::record {

// What the holder of a phone is there for. None includes another: who may do two things has two phones
// paired, or the bench.
enum class Role {
    helper,            // photos and findings
    keeper,            // the same, and holds, queries, replies and the register
    competent_person,  // photos, findings and verdicts
};

// A phone that may use the bench over the local network until it is revoked.
struct Device {
    int number = 0;      // 1, 2, 3, …; given by the store
    std::string name;    // whose it is, in words: "Ida's phone"
    std::string holder;  // the person whose name its photos and findings bear
    Role role = Role::helper;
    std::string paired_by;
    Time paired{};
    std::optional<Time> revoked;
    std::string revoked_by;

    bool operator==(const Device&) const = default;
};

[[nodiscard]] std::string_view name_of(Role role);
[[nodiscard]] std::optional<Role> role_named(std::string_view name);
[[nodiscard]] std::string words_for(Role role);
[[nodiscard]] const std::vector<Role>& all_roles();

}  // namespace frayhold::record
