// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// What is due, the rounds there are, and a form to start one.
[[nodiscard]] Answer checks_page(const Visit& visit);
[[nodiscard]] Answer start_round(const Visit& visit);

// The months between two checks by kind and use; a POST sets them.
[[nodiscard]] Answer intervals_page(const Visit& visit);

// A round and how far it is; a POST ends it.
[[nodiscard]] Answer round_page(const Visit& visit, const std::string& round);

// One item of a round ("?mark="): its last findings first, then what is to be done, in the order in which a
// practised person works.
[[nodiscard]] Answer sheet_page(const Visit& visit, const std::string& round);

// Work on it: "begin", "step", "felt", "finding", "pause", "resume" (POST only).
[[nodiscard]] Answer sheet_action(const Visit& visit, const std::string& round, const std::string& action);

// The person's own result (POST only).
[[nodiscard]] Answer sheet_result(const Visit& visit, const std::string& round);

// Where one item of a round is checked.
[[nodiscard]] std::string sheet_path(const std::string& round, const std::string& mark);

}  // namespace frayhold::web
