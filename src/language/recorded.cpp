// SPDX-License-Identifier: Apache-2.0
#include "language/recorded.h"

#include "language/tr.h"

namespace frayhold {

std::string tr_recorded(std::string_view english) {
    constexpr std::string_view between = ": ";
    // The longest beginning that is in the catalogue, since a text may itself have what parts it from values.
    for (std::size_t end = english.size(); end != std::string_view::npos;
         end = end > 0 ? english.rfind(between, end - 1) : std::string_view::npos) {
        const char* known = language::translated({english.data(), end});
        if (known == nullptr) continue;
        if (end == english.size()) return known;
        return std::string(known).append(between) + tr_recorded(english.substr(end + between.size()));
    }
    const auto end = english.find(between);
    if (end == std::string_view::npos) return std::string(english);
    return std::string(english.substr(0, end)).append(between) +
           tr_recorded(english.substr(end + between.size()));
}

}  // namespace frayhold
