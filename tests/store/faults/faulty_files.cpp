// SPDX-License-Identifier: Apache-2.0
#include "store/faults/faulty_files.h"

#include <algorithm>
#include <cerrno>

namespace frayhold::testing {

namespace fs = std::filesystem;

void FaultyFiles::fail_at(DiskFault fault, int n) {
    fault_ = fault;
    left_ = n;
    broken_ = false;
    happened_ = false;
    unflushed_.clear();
    renamed_.clear();
    made_.clear();
}

bool FaultyFiles::calm() {
    left_ = 0;
    broken_ = false;
    return happened_;
}

bool FaultyFiles::befalls(bool is_write) {
    const bool needs_write = fault_ == DiskFault::full || fault_ == DiskFault::short_write;
    if (broken_) return fault_ != DiskFault::full && fault_ != DiskFault::short_write ? true : is_write;
    if (left_ == 0 || (needs_write && !is_write) || --left_ > 0) return false;
    happened_ = true;
    broken_ = fault_ != DiskFault::io_error;
    errno = fault_ == DiskFault::read_only ? EROFS : EIO;
    if (needs_write) errno = ENOSPC;
    return true;
}

int FaultyFiles::open(const Path& path, int flags, mode_t mode) {
    if (befalls(false)) return -1;
    const int file = FileCalls::open(path, flags, mode);
    if (file >= 0) open_[file] = path;
    return file;
}

ssize_t FaultyFiles::write(int file, std::span<const std::byte> bytes) {
    unflushed_[open_[file]] = true;
    if (!befalls(true)) return FileCalls::write(file, bytes);
    // Half of the bytes arrive; the next write finds the disk full.
    if (fault_ == DiskFault::short_write && bytes.size() > 1)
        return FileCalls::write(file, bytes.first(bytes.size() / 2));
    errno = fault_ == DiskFault::full || fault_ == DiskFault::short_write ? ENOSPC : EIO;
    return -1;
}

int FaultyFiles::fchmod(int file, mode_t mode) {
    if (befalls(false)) return -1;
    return FileCalls::fchmod(file, mode);
}

int FaultyFiles::fsync(int file) {
    if (befalls(false)) return -1;
    const Path path = open_[file];
    unflushed_.erase(path);
    std::erase_if(renamed_, [&](const Renaming& one) { return one.to.parent_path() == path; });
    std::erase_if(made_, [&](const Path& one) { return one.parent_path() == path; });
    return FileCalls::fsync(file);
}

int FaultyFiles::rename(const Path& from, const Path& to) {
    if (befalls(false)) return -1;
    const int done = FileCalls::rename(from, to);
    if (done == 0) {
        renamed_.push_back({from, to});
        if (unflushed_.erase(from) > 0) unflushed_[to] = true;
    }
    return done;
}

int FaultyFiles::unlink(const Path& path) {
    if (befalls(false)) return -1;
    unflushed_.erase(path);
    return FileCalls::unlink(path);
}

int FaultyFiles::mkdir(const Path& path, mode_t mode) {
    if (befalls(false)) return -1;
    const int made = FileCalls::mkdir(path, mode);
    if (made == 0) made_.push_back(path);
    return made;
}

void FaultyFiles::lose_unflushed(std::mt19937& chance, bool keep_some) {
    std::bernoulli_distribution kept(0.5);
    for (const auto& [path, unflushed] : unflushed_) {
        std::error_code gone;
        fs::permissions(path, fs::perms::owner_all, gone);
        if (unflushed && !(keep_some && kept(chance))) fs::resize_file(path, 0, gone);
    }
    for (auto one = renamed_.rbegin(); one != renamed_.rend(); ++one)
        if (!(keep_some && kept(chance))) fs::rename(one->to, one->from);
    for (auto one = made_.rbegin(); one != made_.rend(); ++one) {
        std::error_code not_empty;
        if (!(keep_some && kept(chance))) fs::remove(*one, not_empty);
    }
    unflushed_.clear();
    renamed_.clear();
    made_.clear();
}

}  // namespace frayhold::testing
