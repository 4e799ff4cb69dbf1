// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <memory>
#include <string>

namespace frayhold::language {

// The messages of one language: a compiled gettext catalogue (GNU gettext manual, 10.3, "The Format of GNU MO
// Files"), by English message. Does not change; safe for several threads.
class Catalogue {
  public:
    // Reads <folder>/<name>/LC_MESSAGES/frayhold.mo. Throws Failure (Fault::outside) where it is not there or
    // is none.
    Catalogue(const std::filesystem::path& folder, std::string name);
    ~Catalogue();
    Catalogue(const Catalogue&) = delete;
    Catalogue& operator=(const Catalogue&) = delete;

    // "de".
    [[nodiscard]] const std::string& name() const { return name_; }

    // Null where it has none. `context` may be null.
    [[nodiscard]] const char* message(const char* context, const char* english) const;
    // The form for a count, by the English for one. Null where it has none.
    [[nodiscard]] const char* counted(const char* one, long count) const;

  private:
    struct Messages;
    std::string name_;
    std::unique_ptr<Messages> messages_;
};

}  // namespace frayhold::language
