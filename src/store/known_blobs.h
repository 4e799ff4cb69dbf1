// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/database.h"
#include "units/date.h"

namespace frayhold::store {

// Records that the bytes of a SHA-256 are kept, so that rows may refer to them. To be called after the bytes
// are in their place (blobs.h): then no row ever speaks of bytes that are not there. Nothing to do where it
// is known.
void know_blob(Database& database, const std::string& sha256, std::int64_t size_bytes, Time now);

// Sorted; limit 0: all.
[[nodiscard]] std::vector<std::string> known_blobs(const Database& database, int limit = 0);
[[nodiscard]] bool is_known_blob(const Database& database, const std::string& sha256);

}  // namespace frayhold::store
