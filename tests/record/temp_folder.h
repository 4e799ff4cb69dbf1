// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdlib>
#include <filesystem>
#include <stdexcept>
#include <string>

namespace frayhold::testing {

// A new folder for one test, gone with all it holds at the end. In memory where the machine has such a place,
// since the store flushes each change to the disk.
class TempFolder {
  public:
    TempFolder() {
        const std::filesystem::path memory = "/dev/shm";
        const bool has_memory = std::filesystem::is_directory(memory);
        const std::filesystem::path parent = has_memory ? memory : std::filesystem::temp_directory_path();
        std::string pattern = (parent / "frayhold-test-XXXXXX").string();
        if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
        path_ = pattern;
    }
    ~TempFolder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    TempFolder(const TempFolder&) = delete;
    TempFolder& operator=(const TempFolder&) = delete;

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

}  // namespace frayhold::testing
