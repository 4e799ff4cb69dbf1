// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cairo.h>
#include <pango/pango-layout.h>

#include <memory>
#include <string>
#include <string_view>
#include <vector>

// Set type on a Cairo context whose unit is the point (1/72 inch). Pango chooses a font for each script and
// sets right-to-left text in its own order.
namespace frayhold::pack {

inline constexpr double pt_per_mm = 72.0 / 25.4;

constexpr double mm(double millimetres) {
    return millimetres * pt_per_mm;
}

// sRGB, 0 to 1.
struct Ink {
    double red = 0.0;
    double green = 0.0;
    double blue = 0.0;
};

namespace inks {
inline constexpr Ink text{0.11, 0.11, 0.10};
inline constexpr Ink quiet{0.42, 0.41, 0.38};
inline constexpr Ink line{0.78, 0.76, 0.71};
inline constexpr Ink accent{0.60, 0.20, 0.10};
}  // namespace inks

enum class Family { serif, sans };
enum class Align { left, centre, right };

struct Style {
    Family family = Family::serif;
    double size_pt = 9.5;
    bool bold = false;
    bool italic = false;
    Ink ink = inks::text;
    double leading = 1.0;          // line spacing as a factor of the font's own
    double letter_spacing_pt = 0;  // tracking, for short labels in capitals
};

// One piece of text broken into lines of at most a given width. Bytes that are not UTF-8 are shown as U+FFFD.
class TextBlock {
  public:
    // width_pt <= 0: one line of its own length.
    TextBlock(cairo_t* context, std::string_view text, const Style& style, double width_pt = 0,
              Align align = Align::left);

    [[nodiscard]] double width_pt() const;
    [[nodiscard]] double height_pt() const;
    [[nodiscard]] int line_count() const;
    // From the top of the block to the baseline of its first line.
    [[nodiscard]] double baseline_pt() const;

    // Draws with the block's top left corner at (x, y). A part of the lines: first <= line < last.
    void draw(cairo_t* context, double x, double y) const;
    void draw_lines(cairo_t* context, double x, double y, int first, int last) const;
    [[nodiscard]] double height_of_lines_pt(int first, int last) const;

  private:
    struct Line {
        double top_pt = 0;
        double foot_pt = 0;
        double baseline_pt = 0;
        double left_pt = 0;
    };

    std::shared_ptr<PangoLayout> layout_;
    std::vector<Line> lines_;
    Ink ink_;
};

void set_ink(cairo_t* context, const Ink& ink);

// A rule of the given thickness, its top left end at (x, y).
void draw_rule(cairo_t* context, double x, double y, double length, double thickness, const Ink& ink);

}  // namespace frayhold::pack
