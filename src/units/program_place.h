// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>

namespace frayhold {

// The folder that holds the running program's bin or libexec/frayhold: "/usr" where it is installed. None
// where it lies elsewhere or the system does not tell.
[[nodiscard]] std::optional<std::filesystem::path> program_prefix();

}  // namespace frayhold
