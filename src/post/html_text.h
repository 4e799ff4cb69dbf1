// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace frayhold::post {

// The words of an HTML page as plain text: blocks become paragraphs, list items "- ", quotations "> ", table
// cells are parted by two blanks; the target of a link to the web or a mailbox stands behind its words.
// Scripts, styles, forms' inner workings and pictures are dropped; nothing is fetched. Takes and gives UTF-8.
// Broken HTML is read as browsers read it; empty where it can't be read to its end (elements nested more than
// 256 deep).
[[nodiscard]] std::optional<std::string> text_of_html(std::string_view html);

}  // namespace frayhold::post
