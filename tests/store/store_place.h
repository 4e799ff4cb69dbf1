// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <unistd.h>

#include <cstdlib>
#include <string>

#include "record/temp_folder.h"
#include "store/database.h"
#include "store/location.h"

// Every test of a store runs on both engines: in folders, and beside a server (with_postgresql) on that. The
// few that are about files are tagged [file], those about servers [.server].
namespace frayhold::testing {

// The server's address; empty where the tests run on files.
inline std::string server_address() {
    const char* address = std::getenv("FRAYHOLD_TEST_POSTGRESQL");
    return address == nullptr ? "" : address;
}

inline bool on_server() {
    return !server_address().empty();
}

// Addresses a new, empty schema of the server's.
inline std::string new_schema() {
    static int made = 0;
    const std::string name = "t" + std::to_string(::getpid()) + "_" + std::to_string(++made);
    store::Database::at_server(server_address(), {}).run("CREATE SCHEMA " + name);
    return server_address() + "&options=-csearch_path%3D" + name;
}

// A database of its own with nothing in it.
inline store::Database empty_database() {
    return on_server() ? store::Database::at_server(new_schema(), {}) : store::Database::in_memory();
}

// A place for one store, which is not there yet; gone at the end with all it holds.
struct StorePlace {
    explicit StorePlace(const std::string& name = "store") : location(folder.path() / name) {
        if (!on_server()) return;
        const char* bucket = std::getenv("FRAYHOLD_TEST_BUCKET");
        const char* key = std::getenv("FRAYHOLD_TEST_BUCKET_KEY");
        location = bucket == nullptr ? store::ServerPlace{new_schema(), (folder.path() / name).string(), ""}
                                     : store::ServerPlace{new_schema(), bucket, key};
    }

    TempFolder folder;
    store::Location location;

    // The store's database itself.
    [[nodiscard]] store::Database database(const store::Database::Options& options = {}) const {
        if (const store::ServerPlace* server = location.server())
            return store::Database::at_server(server->address, options);
        std::filesystem::create_directories(*location.folder());
        return {*location.folder() / "frayhold.db", options};
    }

    // Where the kept files lie.
    [[nodiscard]] std::filesystem::path originals() const {
        if (const store::ServerPlace* server = location.server()) return server->photos;
        return *location.folder() / "originals";
    }
};

// How the engine says that a rule of the schema was broken.
inline std::string engine_words(const std::string& rule) {
    if (!on_server())
        return rule == "type" ? "cannot store TEXT value in INTEGER column" : rule + " constraint failed";
    if (rule == "type") return "invalid input syntax for type bigint";
    if (rule == "UNIQUE") return "duplicate key value violates unique constraint";
    return rule == "CHECK" ? "violates check constraint" : "violates foreign key constraint";
}

}  // namespace frayhold::testing
