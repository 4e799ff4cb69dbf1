// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

namespace frayhold::cli {

// Writes a file so that it is there whole or not at all: into a new file beside it, synced, then renamed over
// it. Throws Failure (Fault::outside) where that is not possible; nothing is left behind then.
void write_whole_file(const std::filesystem::path& path, std::span<const std::byte> bytes);

// Reads a whole file of at most 200 MB. Throws Failure (Fault::input) where it cannot be read.
[[nodiscard]] std::vector<std::byte> read_whole_file(const std::filesystem::path& path);

}  // namespace frayhold::cli
