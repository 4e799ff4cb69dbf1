// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "record/device.h"

namespace frayhold::web {

// What a route is for, and so who may take it.
enum class Task {
    look,      // holds, items, checks, charts, things to print
    evidence,  // photos, findings, work on a check
    letters,   // reading queries and replies
    keep,      // holds, queries, replies, register, rounds of checks, a check's result
    decide,    // verdicts, and the results that end in one
    result,    // a check's result: of a keeper or a competent person
    bench,     // phones: at the bench itself only
};

// Empty: the bench itself, where the account that runs it may do everything.
using Holder = std::optional<record::Role>;

[[nodiscard]] bool may(const Holder& holder, Task task);

// "a helper's phone takes photos and notes findings".
[[nodiscard]] std::string what_for(record::Role role);

// "this is for the keeper; a helper's phone takes photos and notes findings".
[[nodiscard]] std::string refusal_words(record::Role role, Task task);

}  // namespace frayhold::web
