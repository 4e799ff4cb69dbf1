// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// The register, found by words, status, kit and place; paged on the server.
[[nodiscard]] Answer items_page(const Visit& visit);

// One item with all its holds, checks and journal.
[[nodiscard]] Answer item_page(const Visit& visit);

// A form with every field of an item, for a new one or, where one is named, to change it; a POST does it.
[[nodiscard]] Answer item_form(const Visit& visit);

// Lives that are over, end soon or have an unknown end; what was destroyed.
[[nodiscard]] Answer lives_page(const Visit& visit);
[[nodiscard]] Answer destroyed_page(const Visit& visit);

// Items from a CSV file: first which column is which field and what would come in, then, on a person's word,
// all rows or none. The refused rows can be saved with their reasons.
[[nodiscard]] Answer import_page(const Visit& visit);
// The register as CSV, as far as words, kit and place narrow it.
[[nodiscard]] Answer export_items(const Visit& visit);

// Checks that are done, each with its result, its findings and the way to its sheet.
[[nodiscard]] nlohmann::json check_lines(const std::vector<record::ItemCheck>& checks);

[[nodiscard]] std::string item_path(const std::string& mark);

}  // namespace frayhold::web
