// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "record/case_file.h"
#include "record/photo_entry.h"

namespace frayhold::record {

enum class ViewState { missing, unusable, present, waived };

// One line of the evidence list.
struct RequiredView {
    PhotoRole role = PhotoRole::label;
    ViewState state = ViewState::missing;
    std::string words;  // what is there, or what is missing and what to do
};

// Label, whole item, damage close-up with the card, the same from the other side, and a second view where a
// criterion asked for one. A view is present when one of its photos passed its quality check (and shows the
// card where the view is measured); it is waived when a reason was stated why it can't be had.
[[nodiscard]] std::vector<RequiredView> evidence_list(const CaseFile& file);

// The words of every line that is still missing; empty when the list is complete.
[[nodiscard]] std::vector<std::string> missing_evidence(const CaseFile& file);

}  // namespace frayhold::record
