// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <list>
#include <mutex>
#include <optional>
#include <string>

namespace frayhold::web {

// Keeps the texts that were uploaded last in memory, so that a file is looked over in several steps and sent
// once. Safe for several threads.
class TextShelf {
  public:
    static constexpr std::size_t most = 3;

    // Gives the key by which it is found again.
    [[nodiscard]] std::string put(std::string text);
    // Empty where it has gone to make room for later ones.
    [[nodiscard]] std::optional<std::string> find(const std::string& key) const;

  private:
    struct Place {
        std::string key;
        std::string text;
    };
    mutable std::mutex mutex_;
    std::list<Place> places_;  // the last put first
};

}  // namespace frayhold::web
