// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace frayhold::store {

// Bytes kept under their SHA-256, each once, never altered: photos as they came from the camera, mark-ups,
// messages and attachments.
class Originals {
  public:
    virtual ~Originals() = default;

    // Keeps the bytes and gives their SHA-256. What is acknowledged is whole and lasts. Nothing is written
    // where they are kept already; kept bytes that were altered are replaced, since these are the right ones.
    // Failure (Fault::outside): nothing is left.
    virtual std::string keep(std::span<const std::byte> bytes) = 0;

    // Failure (Fault::outside) where they are missing or no longer have this SHA-256.
    [[nodiscard]] virtual std::vector<std::byte> read(const std::string& sha256) const = 0;

    enum class Condition { sound, missing, altered, unreadable };
    [[nodiscard]] virtual Condition condition(const std::string& sha256) const = 0;

    // Where a person finds them.
    [[nodiscard]] virtual std::string place_of(const std::string& sha256) const = 0;

    // The SHA-256 of everything kept, sorted; what is called otherwise by its place.
    [[nodiscard]] virtual std::vector<std::string> list() const = 0;
};

}  // namespace frayhold::store
