// SPDX-License-Identifier: Apache-2.0
#include "web/photo_shelf.h"

#include <algorithm>

namespace frayhold::web {

std::shared_ptr<const OpenPhoto> PhotoShelf::open(const std::string& key,
                                                  const std::function<desk::PhotoBench()>& make) {
    const std::lock_guard lock(mutex_);
    const auto found =
        std::find_if(places_.begin(), places_.end(), [&](const Place& place) { return place.key == key; });
    if (found != places_.end())
        places_.splice(places_.begin(), places_, found);
    else
        places_.push_front({key, std::make_shared<const OpenPhoto>(make())});
    while (places_.size() > most) places_.pop_back();
    return places_.front().photo;
}

}  // namespace frayhold::web
