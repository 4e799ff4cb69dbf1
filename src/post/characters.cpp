// SPDX-License-Identifier: Apache-2.0
#include "post/characters.h"

#include "post/mime_handles.h"

namespace frayhold::post {

std::string valid_text(const char* text) {
    return text == nullptr ? std::string() : valid_text(std::string_view(text));
}

std::string valid_text(std::string_view text) {
    const HeldText valid(g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())));
    return valid.get();
}

}  // namespace frayhold::post
