// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace frayhold::post::test {

[[nodiscard]] std::vector<std::byte> bytes_of(std::string_view text);
[[nodiscard]] std::string text_of(const std::vector<std::byte>& bytes);
[[nodiscard]] std::vector<std::byte> read_file(const std::filesystem::path& path);

// What Python's email package finds in each file (read_mail.py), in their order.
[[nodiscard]] std::vector<nlohmann::json> read_by_python(const std::vector<std::filesystem::path>& files);
// The same for one message in memory.
[[nodiscard]] nlohmann::json read_by_python(const std::vector<std::byte>& message);

}  // namespace frayhold::post::test
