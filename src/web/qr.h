// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

// Text as a QR code (ISO/IEC 18004), error correction level M, with its quiet zone.
namespace frayhold::web {

// A drawing of its own, black on white, to stand in a page.
[[nodiscard]] std::string qr_svg(const std::string& text);

// For a terminal: two rows of modules a line by half blocks, dark on light whatever the terminal's colours.
[[nodiscard]] std::string qr_lines(const std::string& text);

}  // namespace frayhold::web
