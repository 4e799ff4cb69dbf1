// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <vector>

// Whole numbers as JPEG, PNG and HEIF write them: high byte first.
namespace frayhold::photo {

// The number that all the bytes together make, at most eight.
[[nodiscard]] inline std::size_t big_endian(std::span<const std::byte> bytes) {
    std::size_t value = 0;
    for (const std::byte byte : bytes) value = value << 8U | std::to_integer<std::size_t>(byte);
    return value;
}

// The lowest `count` bytes of the value, at most eight.
inline void append_big_endian(std::vector<std::byte>& to, std::size_t value, std::size_t count) {
    for (std::size_t i = count; i-- > 0;) to.push_back(static_cast<std::byte>(value >> (8 * i) & 0xFFU));
}

}  // namespace frayhold::photo
