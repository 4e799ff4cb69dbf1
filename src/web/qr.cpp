// SPDX-License-Identifier: Apache-2.0
#include "web/qr.h"

#include <fmt/format.h>
#include <qrencode.h>

#include <memory>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::web {
namespace {

struct Release {
    void operator()(QRcode* code) const { QRcode_free(code); }
};

constexpr int quiet_zone = 4;  // modules, ISO/IEC 18004, 6.3.8

// The modules with the quiet zone round them.
class Modules {
  public:
    explicit Modules(const std::string& text)
        : code_(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M)) {
        if (!code_)
            throw Failure(Fault::outside, tr("QR code"), "it cannot be made", "type the address instead");
    }
    [[nodiscard]] int side() const { return code_->width + 2 * quiet_zone; }
    [[nodiscard]] bool dark(int row, int column) const {
        const int r = row - quiet_zone, c = column - quiet_zone;
        if (r < 0 || c < 0 || r >= code_->width || c >= code_->width) return false;
        return (code_->data[r * code_->width + c] & 1) != 0;
    }

  private:
    std::unique_ptr<QRcode, Release> code_;
};

}  // namespace

std::string qr_svg(const std::string& text) {
    const Modules modules(text);
    std::string path;
    for (int row = 0; row < modules.side(); ++row)
        for (int column = 0; column < modules.side(); ++column)
            if (modules.dark(row, column)) path += fmt::format("M{} {}h1v1h-1z", column, row);
    return fmt::format(
        R"(<svg class="qr" viewBox="0 0 {0} {0}" aria-hidden="true">)"
        R"(<rect width="{0}" height="{0}" fill="#fff"/><path d="{1}" fill="#000" shape-rendering="crispEdges"/></svg>)",
        modules.side(), path);
}

std::string qr_lines(const std::string& text) {
    const Modules modules(text);
    std::string lines;
    for (int row = 0; row < modules.side(); row += 2) {
        lines += "\x1b[30;107m";  // black on white
        for (int column = 0; column < modules.side(); ++column) {
            const bool upper = modules.dark(row, column), lower = modules.dark(row + 1, column);
            lines += upper ? (lower ? "█" : "▀") : (lower ? "▄" : " ");
        }
        lines += "\x1b[0m\n";
    }
    return lines;
}

}  // namespace frayhold::web
