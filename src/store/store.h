// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>

#include "store/blobs.h"
#include "store/database.h"
#include "units/date.h"

namespace frayhold::store {

// A store is one folder:
//   frayhold.db          the register, the holds and the journal (with frayhold.db-wal and -shm while in use)
//   originals/ab/abcd…   photos, mark-ups, messages and attachments by their SHA-256 (blobs.h)
class Store {
  public:
    struct Options {
        bool may_create = true;
        std::chrono::milliseconds busy_wait{10'000};
        std::shared_ptr<FileCalls> files = system_file_calls();
    };

    // Opens the store, brings it to the newest schema, and makes it where the folder is missing or empty and
    // may be made. Failure (Fault::input): no store there and none may be made; a folder that holds something
    // else; a store of a newer program. Failure (Fault::outside): it cannot be read or written; then nothing
    // new is left behind.
    Store(const std::filesystem::path& folder, Time now) : Store(folder, now, Options{}) {}
    Store(const std::filesystem::path& folder, Time now, const Options& options);

    [[nodiscard]] Database& database() { return database_; }
    [[nodiscard]] const Database& database() const { return database_; }
    [[nodiscard]] Blobs& blobs() { return blobs_; }
    [[nodiscard]] const Blobs& blobs() const { return blobs_; }
    [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

    // After this every use of the database is a Failure that says so.
    void close() { database_.close(); }

  private:
    std::filesystem::path folder_;
    Database database_;
    Blobs blobs_;
};

}  // namespace frayhold::store
