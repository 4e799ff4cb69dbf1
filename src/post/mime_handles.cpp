// SPDX-License-Identifier: Apache-2.0
#include "post/mime_handles.h"

#include <mutex>

namespace frayhold::post {

void start_mime() {
    static std::once_flag started;
    std::call_once(started, g_mime_init);
}

Held<GMimeStream> reading_stream(std::span<const std::byte> bytes) {
    return Held<GMimeStream>(
        g_mime_stream_mem_new_with_buffer(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
}

std::vector<std::byte> written_to(GMimeStream* memory_stream) {
    const GByteArray* array = g_mime_stream_mem_get_byte_array(GMIME_STREAM_MEM(memory_stream));
    const auto* from = reinterpret_cast<const std::byte*>(array->data);
    return {from, from + array->len};
}

}  // namespace frayhold::post
