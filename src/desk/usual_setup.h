// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "desk/desk.h"

// The desk as the program ships it: real measuring, real letters, real mail, the templates beside it.
namespace frayhold::desk {

[[nodiscard]] Setup usual_setup(const store::Location& store, const std::string& who);

}  // namespace frayhold::desk
