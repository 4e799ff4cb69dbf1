// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace frayhold::post {

inline constexpr std::size_t longest_file_name_bytes = 120;

// A file name that a stranger chose, made safe to show and to create in any folder: only its last path part,
// no control, bidirectional or zero-width characters, none of the signs that file systems forbid, no leading
// or trailing dots and blanks, no device name, at most 120 bytes of UTF-8 with the extension kept. `fallback`
// where nothing is left.
[[nodiscard]] std::string safe_file_name(std::string_view name, std::string_view fallback);

}  // namespace frayhold::post
