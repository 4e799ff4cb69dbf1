// SPDX-License-Identifier: Apache-2.0
#include "store/file_calls.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>

namespace frayhold::store {

int FileCalls::open(const std::filesystem::path& path, int flags, mode_t mode) {
    return ::open(path.c_str(), flags, mode);
}

ssize_t FileCalls::write(int file, std::span<const std::byte> bytes) {
    return ::write(file, bytes.data(), bytes.size());
}

int FileCalls::fchmod(int file, mode_t mode) {
    return ::fchmod(file, mode);
}

int FileCalls::fsync(int file) {
    return ::fsync(file);
}

int FileCalls::rename(const std::filesystem::path& from, const std::filesystem::path& to) {
    return ::rename(from.c_str(), to.c_str());
}

int FileCalls::unlink(const std::filesystem::path& path) {
    return ::unlink(path.c_str());
}

int FileCalls::mkdir(const std::filesystem::path& path, mode_t mode) {
    const int made = ::mkdir(path.c_str(), mode);
    return made != 0 && errno == EEXIST ? 0 : made;
}

std::shared_ptr<FileCalls> system_file_calls() {
    return std::make_shared<FileCalls>();
}

}  // namespace frayhold::store
