// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace frayhold {

// A sentence that is kept in the record, always in English so that its bytes and their hash do not hang on
// who looked: shown in the language in force. Such a sentence is one marked with tr_later, or one so marked,
// ": " and values: "fewer than 3 photos: 2", of which each part between two ": ", or several together, is
// translated where it is in the catalogue. What a person typed is in no catalogue and is shown as typed.
[[nodiscard]] std::string tr_recorded(std::string_view english);

}  // namespace frayhold
