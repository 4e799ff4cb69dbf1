// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// The form for a competent person, with what speaks for and against; a POST gives the verdict. A refusal
// comes back in plain words with what was typed.
[[nodiscard]] Answer verdict_page(const Visit& visit, const std::string& hold);

}  // namespace frayhold::web
