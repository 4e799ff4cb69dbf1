// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "store/file_calls.h"
#include "store/originals.h"

namespace frayhold::store {

// Bytes kept under their SHA-256, each once, never altered: photos as they came from the camera, mark-ups,
// messages and attachments. A file FOLDER/ab/abcdef… holds the bytes whose SHA-256 is abcdef….
//
// Writing: into FOLDER/incoming, flushed to the disk, made read-only, renamed to its place, and the folder
// flushed. So a file stands in its place whole or not at all, whatever happens. What a killed process left in
// FOLDER/incoming is swept at the next opening; a lock on each file tells it from one that another process is
// writing now.
class Blobs : public Originals {
  public:
    // Makes the folder where there is none. Failure (Fault::outside) where it cannot be made.
    explicit Blobs(std::filesystem::path folder) : Blobs(std::move(folder), system_file_calls()) {}
    Blobs(std::filesystem::path folder, std::shared_ptr<FileCalls> files);

    // Whether a folder was made so.
    [[nodiscard]] static bool are_in(const std::filesystem::path& folder);

    // Keeps the bytes and gives their SHA-256. Nothing is written where they are kept already; a kept file
    // that no longer holds its bytes is replaced, since these are the right ones. Failure (Fault::outside):
    // nothing is left.
    std::string keep(std::span<const std::byte> bytes) override;

    // Failure (Fault::outside) where there is no such file or it no longer has this SHA-256.
    [[nodiscard]] std::vector<std::byte> read(const std::string& sha256) const override;

    [[nodiscard]] Condition condition(const std::string& sha256) const override;

    [[nodiscard]] std::filesystem::path path_of(const std::string& sha256) const;
    [[nodiscard]] std::string place_of(const std::string& sha256) const override {
        return path_of(sha256).string();
    }

    // The SHA-256 by which each kept file is called, sorted; files called otherwise by their path.
    [[nodiscard]] std::vector<std::string> list() const override;

  private:
    void sweep_incoming() const;

    std::filesystem::path folder_;
    std::shared_ptr<FileCalls> files_;
};

}  // namespace frayhold::store
