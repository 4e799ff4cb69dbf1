// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cairo.h>

#include <string>
#include <vector>

// QR codes (ISO/IEC 18004).
namespace frayhold::pack {

// A square of dark and light modules, without the quiet zone of 4 modules that must be left free around it.
struct QrCode {
    int modules = 0;         // on a side
    std::vector<bool> dark;  // row by row

    [[nodiscard]] bool at(int row, int column) const {
        return dark[static_cast<std::size_t>(row) * static_cast<std::size_t>(modules) +
                    static_cast<std::size_t>(column)];
    }
};

inline constexpr int qr_quiet_modules = 4;

// The text as bytes, with error correction of level M (15 %). Throws Failure (Fault::input) where it is too
// long.
[[nodiscard]] QrCode qr_code(const std::string& text);

// Draws it with its quiet zone into a square of the given side, its top left corner at (x, y).
void draw_qr(cairo_t* context, const QrCode& code, double x, double y, double side);

}  // namespace frayhold::pack
