// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "store/store.h"

namespace frayhold::store {

// Held by the one program that carries a store's post, so that what it finds half done was left by one that
// ended. The system or the server takes it away with the program. Throws Failure (Fault::outside) where
// another program holds it.
class PostLock {
  public:
    explicit PostLock(const Store& store);
    ~PostLock();
    PostLock(const PostLock&) = delete;
    PostLock& operator=(const PostLock&) = delete;

  private:
    const Store& store_;
    int file_ = -1;  // of a store in a folder
};

}  // namespace frayhold::store
