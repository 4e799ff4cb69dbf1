// SPDX-License-Identifier: Apache-2.0
#include "store/post_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "store/dialect.h"
#include "units/error.h"

namespace frayhold::store {

PostLock::PostLock(const Store& store) : store_(store) {
    const auto refuse_second = [&] {
        throw Failure(Fault::outside, store.where().name(), "another program is carrying its post",
                      "wait until it is done");
    };
    const std::filesystem::path* folder = store.where().folder();
    if (folder == nullptr) {
        if (store.database().count(store.database().dialect().take_post_lock()) == 0) refuse_second();
        return;
    }
    const std::filesystem::path path = *folder / "post.lock";
    constexpr mode_t only_ours = 0600;
    file_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, only_ours);
    if (file_ < 0)
        throw Failure(Fault::outside, path.string(), std::strerror(errno),
                      "check who may write to the store");
    if (::flock(file_, LOCK_EX | LOCK_NB) == 0) return;
    ::close(file_);
    refuse_second();
}

PostLock::~PostLock() {
    if (file_ >= 0) {
        ::close(file_);
        return;
    }
    try {
        static_cast<void>(store_.database().count(store_.database().dialect().drop_post_lock()));
    } catch (const Failure&) {
        // The connection is lost, and the lock with it.
        return;
    }
}

}  // namespace frayhold::store
