// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sys/types.h>

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>

namespace frayhold::store {

// The system calls by which a kept file comes to its place. Each gives what the call of its name gives and
// leaves the reason in errno; a test derives from this to let any of them fail.
class FileCalls {
  public:
    FileCalls() = default;
    virtual ~FileCalls() = default;
    FileCalls(const FileCalls&) = delete;
    FileCalls& operator=(const FileCalls&) = delete;

    virtual int open(const std::filesystem::path& path, int flags, mode_t mode);
    // May write less than it was given.
    virtual ssize_t write(int file, std::span<const std::byte> bytes);
    virtual int fchmod(int file, mode_t mode);
    virtual int fsync(int file);
    virtual int rename(const std::filesystem::path& from, const std::filesystem::path& to);
    virtual int unlink(const std::filesystem::path& path);
    // 0 where the folder is there already.
    virtual int mkdir(const std::filesystem::path& path, mode_t mode);
};

[[nodiscard]] std::shared_ptr<FileCalls> system_file_calls();

}  // namespace frayhold::store
