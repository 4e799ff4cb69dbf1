// SPDX-License-Identifier: Apache-2.0
#include "language/tr.h"

namespace frayhold {
namespace language {

const char* translated(fmt::string_view english) {
    if (spoken() == nullptr || english.size() == 0) return nullptr;
    return spoken()->message(nullptr, std::string(english.data(), english.size()).c_str());
}

const char* translated(fmt::string_view one, long count) {
    if (spoken() == nullptr) return nullptr;
    return spoken()->counted(std::string(one.data(), one.size()).c_str(), count);
}

std::string filled(const char* translated, fmt::string_view english, fmt::format_args values) {
    if (translated != nullptr) {
        try {
            return fmt::vformat(translated, values);
        } catch (const fmt::format_error&) {
            // Said in English rather than not at all.
        }
    }
    return fmt::vformat(english, values);
}

}  // namespace language

std::string tr(const char* english) {
    return tr_word(english);
}

std::string trc(const char* context, const char* english) {
    const char* found =
        language::spoken() == nullptr ? nullptr : language::spoken()->message(context, english);
    return found == nullptr ? english : found;
}

std::string tr_word(std::string_view english) {
    const char* found = language::translated({english.data(), english.size()});
    return found == nullptr ? std::string(english) : found;
}

}  // namespace frayhold
