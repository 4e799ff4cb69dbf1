// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace frayhold::post {

// Joins neighbouring base64 encoded-words of one charset (RFC 2047, 2 and 6.2) in a raw header value into
// one; all else stays as it is. GMime 3.2.8 to 3.2.13 drops what stands behind the first padded one of such a
// run (github.com/jstedfast/gmime/issues/133), and senders also split a character between two words.
[[nodiscard]] std::string join_encoded_words(std::string_view raw);

}  // namespace frayhold::post
