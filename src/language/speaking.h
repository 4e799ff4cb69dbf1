// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "language/catalogue.h"

// The language in force. Each thread has its own: two phones and a letter to a maker may each be answered in
// theirs at the same time.
namespace frayhold::language {

// A language in force on this thread for as long as this lives; then the one before it is again. English
// where the catalogue is null. The catalogue must outlive it.
class Speaking {
  public:
    explicit Speaking(const Catalogue* catalogue);
    ~Speaking();
    Speaking(const Speaking&) = delete;
    Speaking& operator=(const Speaking&) = delete;

  private:
    const Catalogue* before_;
};

// Null: English. To hand on to a thread that works for this one.
[[nodiscard]] const Catalogue* spoken();

// "en", "de": for the lang attribute of a page.
[[nodiscard]] std::string spoken_name();

}  // namespace frayhold::language
