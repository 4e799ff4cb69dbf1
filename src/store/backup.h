// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>

#include "store/store.h"
#include "store/verify.h"

// Copies of a whole store. A backup is itself a store's folder, with a manifest beside it that sha256sum can
// check without this program.
namespace frayhold::store {

struct CopyReport {
    std::int64_t kept_files = 0;
    std::int64_t bytes = 0;  // of the database and the kept files
    VerifyReport verified;   // of the copy
};

inline constexpr const char* backup_manifest = "manifest-sha256.txt";

// Whether a name in a backup is one within its folder, and so may be written.
[[nodiscard]] bool stays_inside(const std::filesystem::path& name);

// Copies the store as it is at one moment into a folder that does not exist yet, while others go on working,
// and verifies the copy as written. It is made beside its place and moved there when it is whole: a copy that
// is not sound is never left there. Failure (Fault::input): the folder exists, or the store itself is not
// sound; (Fault::outside): it cannot be written.
CopyReport copy_store(const Store& store, const std::filesystem::path& folder, Time now);

// Makes a store from a backup in a folder that does not exist yet. Each file is held to the manifest, and the
// new store is verified before it comes to its place; the backup stays as it is. Failures as above.
CopyReport restore_backup(const std::filesystem::path& backup, const std::filesystem::path& folder, Time now);

}  // namespace frayhold::store
