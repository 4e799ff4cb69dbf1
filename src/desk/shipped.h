// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "criteria/lives.h"
#include "criteria/table.h"

// What comes with the program and lies beside it. Opens no store and reaches for no network: measuring a
// single photo needs no more of the desk than this.
namespace frayhold::desk {

// Where a folder that comes with the program ("templates/letters", "demo-photos") may lie, the nearest first:
// share/frayhold beside the program's own folder as it is installed, then the source tree it was built from.
[[nodiscard]] std::vector<std::filesystem::path> shipped_folders(const std::string& name);

// The criteria tables that come with the program. Throws Failure (Fault::outside or input).
[[nodiscard]] criteria::Table usual_criteria();

// The makers' lives that come with the program.
[[nodiscard]] criteria::LifeTable usual_lives();

}  // namespace frayhold::desk
