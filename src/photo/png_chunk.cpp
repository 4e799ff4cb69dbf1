// SPDX-License-Identifier: Apache-2.0
#include "photo/png_chunk.h"

#include <zlib.h>

#include "photo/big_endian.h"

namespace frayhold::photo {

void append_png_chunk(std::vector<std::byte>& to, std::string_view type, std::span<const std::byte> content) {
    append_big_endian(to, content.size(), 4);
    // The check sum is that of type and content.
    const std::size_t checked_from = to.size();
    for (const char letter : type) to.push_back(static_cast<std::byte>(letter));
    to.insert(to.end(), content.begin(), content.end());
    const auto checked = std::span(to).subspan(checked_from);
    const auto sum =
        crc32(0, reinterpret_cast<const Bytef*>(checked.data()), static_cast<uInt>(checked.size()));
    append_big_endian(to, sum, 4);
}

}  // namespace frayhold::photo
