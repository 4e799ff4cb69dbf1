// SPDX-License-Identifier: Apache-2.0
#include <cstdint>

#include "fuzz/entries.h"

// libFuzzer's own entry, for the one named by the build.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    frayhold::fuzz::FRAYHOLD_FUZZ_ENTRY(std::as_bytes(std::span(data, size)));
    return 0;
}
