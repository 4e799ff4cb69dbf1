// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <variant>

namespace frayhold::store {

// A database of a PostgreSQL server, for stores that many places share.
struct ServerPlace {
    std::string address;  // "postgresql://ida@db.korreltrees.example/gear", without a password
    // Where photos and messages are kept: a folder that all of them share, or the address of a bucket.
    std::string photos;
    std::string key_file;  // of a bucket only: the file with its key
};

// Where a store is: a folder of its own, or a server's database.
class Location {
  public:
    Location() = default;
    Location(std::filesystem::path folder) : place_(std::move(folder)) {}
    Location(ServerPlace server) : place_(std::move(server)) {}

    // Null where it is the other.
    [[nodiscard]] const std::filesystem::path* folder() const {
        return std::get_if<std::filesystem::path>(&place_);
    }
    [[nodiscard]] const ServerPlace* server() const { return std::get_if<ServerPlace>(&place_); }

    // As it stands in messages.
    [[nodiscard]] std::string name() const;

  private:
    std::variant<std::filesystem::path, ServerPlace> place_;
};

// The words of --store, --photos and --photos-key. Failure (Fault::usage): an address without photos, a
// folder with them, an address that holds a password, since whoever is on the machine can read a program's
// words.
[[nodiscard]] Location location_of(const std::string& store, const std::string& photos,
                                   const std::string& key_file = {});

}  // namespace frayhold::store
