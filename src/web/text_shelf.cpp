// SPDX-License-Identifier: Apache-2.0
#include "web/text_shelf.h"

#include <span>

#include "photo/sha256.h"

namespace frayhold::web {

std::string TextShelf::put(std::string text) {
    std::string key = photo::sha256_hex(std::as_bytes(std::span(text)));
    const std::lock_guard lock(mutex_);
    places_.remove_if([&](const Place& place) { return place.key == key; });
    places_.push_front({key, std::move(text)});
    while (places_.size() > most) places_.pop_back();
    return key;
}

std::optional<std::string> TextShelf::find(const std::string& key) const {
    const std::lock_guard lock(mutex_);
    for (const Place& place : places_)
        if (place.key == key) return place.text;
    return std::nullopt;
}

}  // namespace frayhold::web
