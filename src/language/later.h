// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace frayhold {

// Marks a text for the translators and leaves it as it is: tr_word or tr_recorded shows it later. For
// constant tables, and for the measuring core, which says everything in English and needs no catalogue.
[[nodiscard]] constexpr const char* tr_later(const char* english) {
    return english;
}

}  // namespace frayhold
