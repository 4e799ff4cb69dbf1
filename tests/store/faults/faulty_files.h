// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <random>
#include <vector>

#include "store/faults/faulty_vfs.h"
#include "store/file_calls.h"

namespace frayhold::testing {

// The calls by which a kept file comes to its place, which fail when they are told.
//
// Power loss: the bytes of a file that was not flushed are gone; a new name, a new folder and a renaming last
// only once the folder above was flushed.
class FaultyFiles : public store::FileCalls {
  public:
    void fail_at(DiskFault fault, int n);
    bool calm();
    void lose_unflushed(std::mt19937& chance, bool keep_some);

    int open(const std::filesystem::path& path, int flags, mode_t mode) override;
    ssize_t write(int file, std::span<const std::byte> bytes) override;
    int fchmod(int file, mode_t mode) override;
    int fsync(int file) override;
    int rename(const std::filesystem::path& from, const std::filesystem::path& to) override;
    int unlink(const std::filesystem::path& path) override;
    int mkdir(const std::filesystem::path& path, mode_t mode) override;

  private:
    using Path = std::filesystem::path;
    struct Renaming {
        Path from;
        Path to;
    };

    [[nodiscard]] bool befalls(bool is_write);

    DiskFault fault_ = DiskFault::io_error;
    int left_ = 0;
    bool broken_ = false;
    bool happened_ = false;
    std::map<int, Path> open_;
    std::map<Path, bool> unflushed_;  // files with bytes that are not on the disk
    std::vector<Renaming> renamed_;
    std::vector<Path> made_;
};

}  // namespace frayhold::testing
