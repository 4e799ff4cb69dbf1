// SPDX-License-Identifier: Apache-2.0
#include "pack/qr_code.h"

#include <qrencode.h>

#include <memory>

#include "language/tr.h"
#include "pack/lettering.h"
#include "units/error.h"

namespace frayhold::pack {

QrCode qr_code(const std::string& text) {
    constexpr int smallest_that_fits = 0;
    const std::unique_ptr<QRcode, void (*)(QRcode*)> made(
        QRcode_encodeData(static_cast<int>(text.size()), reinterpret_cast<const unsigned char*>(text.data()),
                          smallest_that_fits, QR_ECLEVEL_M),
        QRcode_free);
    if (!made)
        throw Failure(Fault::input, tr("QR code"), "the text is empty or too long for it",
                      "use a shorter one");
    QrCode code;
    code.modules = made->width;
    const auto count = static_cast<std::size_t>(made->width) * static_cast<std::size_t>(made->width);
    code.dark.resize(count);
    // The lowest bit of each byte is the module's colour.
    for (std::size_t i = 0; i < count; ++i) code.dark[i] = (made->data[i] & 1U) != 0;
    return code;
}

void draw_qr(cairo_t* context, const QrCode& code, double x, double y, double side) {
    const double module = side / (code.modules + 2 * qr_quiet_modules);
    set_ink(context, {1, 1, 1});
    cairo_rectangle(context, x, y, side, side);
    cairo_fill(context);
    set_ink(context, {0, 0, 0});
    for (int row = 0; row < code.modules; ++row) {
        // One run of dark modules is one rectangle, so that no seam shows between them.
        for (int column = 0; column < code.modules; ++column) {
            if (!code.at(row, column)) continue;
            int end = column;
            while (end < code.modules && code.at(row, end)) ++end;
            cairo_rectangle(context, x + (column + qr_quiet_modules) * module,
                            y + (row + qr_quiet_modules) * module, (end - column) * module, module);
            column = end;
        }
    }
    cairo_fill(context);
}

}  // namespace frayhold::pack
