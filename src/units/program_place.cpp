// SPDX-License-Identifier: Apache-2.0
#include "units/program_place.h"

#include <system_error>

namespace frayhold {

std::optional<std::filesystem::path> program_prefix() {
    std::error_code unreadable;
    const std::filesystem::path folder =
        std::filesystem::read_symlink("/proc/self/exe", unreadable).parent_path();
    if (unreadable) return std::nullopt;
    if (folder.filename() == "bin") return folder.parent_path();
    const std::filesystem::path above = folder.parent_path();
    if (folder.filename() == "frayhold" && above.filename() == "libexec") return above.parent_path();
    return std::nullopt;
}

}  // namespace frayhold
