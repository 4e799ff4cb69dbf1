// SPDX-License-Identifier: Apache-2.0
#include "language/recorded.h"

#include "language/tr.h"

namespace frayhold {

std::string tr_recorded(std::string_view english) {
    const char* whole = language::translated({english.data(), english.size()});
    if (whole != nullptr) return whole;
    const auto end = english.find(": ");
    if (end == std::string_view::npos) return std::string(english);
    return tr_word(english.substr(0, end)) + ": " + tr_recorded(english.substr(end + 2));
}

}  // namespace frayhold
