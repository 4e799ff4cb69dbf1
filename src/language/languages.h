// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "language/catalogue.h"

namespace frayhold::language {

// The languages there are catalogues for, each read when it is first asked for. Safe for several threads.
class Languages {
  public:
    // Takes the first of the folders that holds a catalogue; English only where none does.
    explicit Languages(const std::vector<std::filesystem::path>& folders);

    // "de", "en", "fr": English is always among them, in order.
    [[nodiscard]] std::vector<std::string> names() const;

    // Whether a person can be spoken to in it.
    [[nodiscard]] bool has(std::string_view name) const;

    // Null for English, and for one there is no catalogue for. Throws Failure (Fault::outside) where a
    // catalogue is there but cannot be read.
    [[nodiscard]] const Catalogue* of(std::string_view name);

    // The first of the wishes, the dearest first, that can be had; English where none can. A wish may be
    // "de", "de-AT", "de_CH.UTF-8".
    [[nodiscard]] const Catalogue* first_of(const std::vector<std::string>& wishes);

  private:
    std::filesystem::path folder_;
    std::vector<std::string> names_;
    std::mutex mutex_;
    std::map<std::string, std::unique_ptr<const Catalogue>, std::less<>> read_;
};

// Where catalogues may lie, the nearest first: beside the program as it is installed, then where it was
// built.
[[nodiscard]] std::vector<std::filesystem::path> usual_folders();

}  // namespace frayhold::language
