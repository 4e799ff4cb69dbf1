// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "record/item.h"
#include "units/error.h"

// An item as a row of a table. Fields are called as in JSON; lengths are in mm with "_mm" in the name, dates
// as on a label (2019-03-14, 2019-03 or 2019).
namespace frayhold::record {

// Every field, in the order in which it is written.
[[nodiscard]] const std::vector<std::string>& item_fields();

// The field a column's heading speaks of, whatever its case, blanks, dashes and underscores: "Own mark",
// "Length (mm)", "date made". Empty where none is meant.
[[nodiscard]] std::string field_for_heading(std::string_view heading);

// Sets a field from its text; empty text leaves it. Errors (Fault::input) say what was expected. status,
// limit and parent cannot be set: an item that is not simply in service must not come back into service by an
// import.
[[nodiscard]] Result<void> set_field(Item& item, const std::string& field, const std::string& text);

[[nodiscard]] std::string field_text(const Item& item, const std::string& field);

// A first line of field names, then a row for each item (RFC 4180).
[[nodiscard]] std::string items_as_csv(const std::vector<Item>& items);

}  // namespace frayhold::record
