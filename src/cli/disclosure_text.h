// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <iosfwd>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "desk/desk.h"
#include "desk/disclosure.h"

namespace frayhold::cli {

[[nodiscard]] desk::Disclosure what_leaves(const desk::Desk& desk, const std::string& hold,
                                           const std::string& who);
void print_disclosure(std::ostream& out, const desk::Disclosure& leaves);
[[nodiscard]] nlohmann::ordered_json as_json(const desk::Disclosure& leaves);

}  // namespace frayhold::cli
