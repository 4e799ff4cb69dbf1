// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "units/error.h"

namespace frayhold {

// The error as one sentence in the language in force. Its parts are English literals, as the gatherer finds
// them in the arguments of Failure and failed, or were made by trf: then they are in that language already.
[[nodiscard]] std::string error_words(const Error& error);

}  // namespace frayhold
