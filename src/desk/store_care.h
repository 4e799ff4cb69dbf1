// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

#include "store/backup.h"
#include "units/date.h"

// Care of the store as a whole: copies of it and what it holds in open formats.
namespace frayhold::desk {

using CopyReport = store::CopyReport;

struct ExportReport {
    int items = 0;
    int holds = 0;
    int originals = 0;
};

// Makes a store from a backup, a folder or a zip, in a folder that does not exist yet; the backup stays as it
// is. Failure (Fault::input): no backup there, one that is not sound, or a folder that exists;
// (Fault::outside): it cannot be written. Nothing is left behind then.
CopyReport restore(const std::filesystem::path& backup, const std::filesystem::path& folder, Time now);

}  // namespace frayhold::desk
