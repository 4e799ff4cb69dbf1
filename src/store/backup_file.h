// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

#include "store/backup.h"

// A backup in one file: the folder of backup.h as a zip (ISO/IEC 21320-1), which any zip program opens.
namespace frayhold::store {

// As copy_store, into a file that does not exist yet: every entry is read back from the finished file and
// held to its SHA-256 before the file comes to its place. Needs room for the copy twice while it works.
CopyReport copy_store_to_file(const Store& store, const std::filesystem::path& file, Time now);

// As restore_backup, from such a file.
CopyReport restore_backup_file(const std::filesystem::path& file, const std::filesystem::path& folder,
                               Time now);

}  // namespace frayhold::store
