// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

namespace frayhold::store {

// Held by the one program that carries a store's post, so that what it finds half done was left by one that
// ended. The system takes it away with the program. Throws Failure (Fault::outside) where another program
// holds it.
class PostLock {
  public:
    explicit PostLock(const std::filesystem::path& store_folder);
    ~PostLock();
    PostLock(const PostLock&) = delete;
    PostLock& operator=(const PostLock&) = delete;

  private:
    int file_ = -1;
};

}  // namespace frayhold::store
