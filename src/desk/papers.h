// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "desk/desk.h"
#include "pack/item_record.h"
#include "pack/tags.h"

// What is printed from the register.
namespace frayhold::desk {

// The items named, or all that the filter finds and that are not retired. Failure (Fault::input) where there
// is none.
[[nodiscard]] std::vector<pack::TaggedItem> tagged_items(const Desk& desk,
                                                         const std::vector<std::string>& marks,
                                                         ItemFilter filter);

// The label sheet or paper of that name ("a4-3x7", "letter"); empty where there is none.
[[nodiscard]] const pack::LabelSheet* label_sheet_named(std::string_view name);
[[nodiscard]] std::optional<pack::Paper> paper_named(std::string_view name);

// The tag of a hold that is running. Failure (Fault::refused) where its verdict is given.
[[nodiscard]] std::vector<std::byte> hold_tag(const Desk& desk, const std::string& hold,
                                              const pack::Paper& paper);

// The record of one item; year 0: everything.
[[nodiscard]] std::vector<std::byte> item_record(const Desk& desk, const std::string& mark, int year,
                                                 const std::string& outfit, Time made);

}  // namespace frayhold::desk
