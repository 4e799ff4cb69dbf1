// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <filesystem>
#include <memory>

#include "store/database.h"
#include "store/file_calls.h"
#include "store/location.h"
#include "store/originals.h"
#include "units/date.h"

namespace frayhold::store {

// A store is one folder
//   frayhold.db          the register, the holds and the journal (with frayhold.db-wal and -shm while in use)
//   originals/ab/abcd…   photos, mark-ups, messages and attachments by their SHA-256 (blobs.h)
// or, where many places share it, a server's database and a shared folder with what stands under originals.
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
    // new is left behind. The same for a server's database, which must be there already, and empty for a new
    // store; a folder for photos that has none where the store has some is no share that was mounted.
    Store(const Location& where, Time now) : Store(where, now, Options{}) {}
    Store(const Location& where, Time now, const Options& options);

    [[nodiscard]] Database& database() { return database_; }
    [[nodiscard]] const Database& database() const { return database_; }
    [[nodiscard]] Originals& blobs() { return *originals_; }
    [[nodiscard]] const Originals& blobs() const { return *originals_; }
    [[nodiscard]] const Location& where() const { return where_; }

    // After this every use of the database is a Failure that says so.
    void close() { database_.close(); }

  private:
    Location where_;
    Database database_;
    std::unique_ptr<Originals> originals_;
};

}  // namespace frayhold::store
