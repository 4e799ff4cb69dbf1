// SPDX-License-Identifier: Apache-2.0
#include "store/post_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "units/error.h"

namespace frayhold::store {

PostLock::PostLock(const std::filesystem::path& store_folder) {
    const std::filesystem::path path = store_folder / "post.lock";
    constexpr mode_t only_ours = 0600;
    file_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, only_ours);
    if (file_ < 0)
        throw Failure(Fault::outside, path.string(), std::strerror(errno),
                      "check who may write to the store");
    if (::flock(file_, LOCK_EX | LOCK_NB) == 0) return;
    ::close(file_);
    throw Failure(Fault::outside, store_folder.string(), "another program is carrying its post",
                  "wait until it is done");
}

PostLock::~PostLock() {
    ::close(file_);
}

}  // namespace frayhold::store
