// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

// The layout of a PNG file (ISO/IEC 15948, clause 5): a signature, then chunks.
namespace frayhold::photo {

inline constexpr std::size_t png_signature_bytes = 8;
inline constexpr std::size_t png_chunk_head_bytes = 8;    // length and type, before the content
inline constexpr std::size_t png_chunk_frame_bytes = 12;  // the same and the check sum behind it

// Appends a chunk with its length and check sum. `type`: its four letters.
void append_png_chunk(std::vector<std::byte>& to, std::string_view type, std::span<const std::byte> content);

}  // namespace frayhold::photo
