// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"
#include "units/quantity.h"

namespace frayhold::record {

enum class VerdictKind {
    retire_and_destroy,
    cut_and_keep_parts,
    return_to_service,
    return_with_limit,
    send_to_maker,
};

// A sound length kept when damage is cut out: it becomes an item of its own.
struct Part {
    std::string mark;
    Millimetres length;

    bool operator==(const Part&) const = default;
};

// The decision that ends a hold, given by a named competent person.
struct Verdict {
    VerdictKind kind = VerdictKind::retire_and_destroy;
    std::string by;
    Time given{};
    std::string reason;                   // in the deciding person's own words
    std::string limit;                    // with return_with_limit; with parts where they carry a limit
    std::vector<Part> parts;              // with cut_and_keep_parts
    std::optional<Millimetres> scrapped;  // with cut_and_keep_parts: the length cut out and destroyed
    std::string witness;                  // who saw the destruction; may be empty
    std::vector<std::string>
        given_against;  // every rule it was given against, in words: shown wherever it is shown

    // The person decided against a rule and wrote why.
    [[nodiscard]] bool is_override() const { return !given_against.empty(); }

    bool operator==(const Verdict&) const = default;
};

[[nodiscard]] std::string_view name_of(VerdictKind kind);
[[nodiscard]] std::optional<VerdictKind> verdict_kind_named(std::string_view name);
[[nodiscard]] std::string words_for(VerdictKind kind);
[[nodiscard]] const std::vector<VerdictKind>& all_verdict_kinds();

}  // namespace frayhold::record
