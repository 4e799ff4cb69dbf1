// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <string>

#include "desk/photo_bench.h"
#include "photo/levels.h"

namespace frayhold::web {

// A photo decoded and cut into levels, ready to be looked at and measured.
struct OpenPhoto {
    explicit OpenPhoto(desk::PhotoBench on_bench) : bench(std::move(on_bench)), levels(bench.photo().bgr) {}

    desk::PhotoBench bench;
    photo::Levels levels;
};

// Keeps the photos that were looked at last in memory, so that moving a corner does not decode anew. Safe for
// several threads.
class PhotoShelf {
  public:
    // Three photos of 48 megapixels with their levels are about 0.6 GB.
    static constexpr std::size_t most = 3;

    // The photo under that key, made by `make` where it is not on the shelf. One photo is made at a time.
    [[nodiscard]] std::shared_ptr<const OpenPhoto> open(const std::string& key,
                                                        const std::function<desk::PhotoBench()>& make);

  private:
    struct Place {
        std::string key;
        std::shared_ptr<const OpenPhoto> photo;
    };
    std::mutex mutex_;
    std::list<Place> places_;  // the last used first
};

}  // namespace frayhold::web
