// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gmime/gmime.h>

#include <cstddef>
#include <memory>
#include <span>
#include <string>
#include <vector>

// Owners for what GMime and GLib hand out. For the .cpp files of this folder only.
namespace frayhold::post {

struct ReleaseObject {
    void operator()(void* object) const { g_object_unref(object); }
};
template <class T>
using Held = std::unique_ptr<T, ReleaseObject>;

struct ReleaseText {
    void operator()(char* text) const { g_free(text); }
};
using HeldText = std::unique_ptr<char, ReleaseText>;

// Must run before any other call into GMime; later calls do nothing.
void start_mime();

// A stream over a copy of the bytes.
[[nodiscard]] Held<GMimeStream> reading_stream(std::span<const std::byte> bytes);

// What was written to a stream made by g_mime_stream_mem_new().
[[nodiscard]] std::vector<std::byte> written_to(GMimeStream* memory_stream);

}  // namespace frayhold::post
