// SPDX-License-Identifier: Apache-2.0
#include "pack/lettering.h"

#include <pango/pangocairo.h>

namespace frayhold::pack {
namespace {

double to_pt(int pango_units) {
    return static_cast<double>(pango_units) / PANGO_SCALE;
}

}  // namespace

TextBlock::TextBlock(cairo_t* context, std::string_view text, const Style& style, double width_pt,
                     Align align)
    : layout_(pango_cairo_create_layout(context), g_object_unref), ink_(style.ink) {
    PangoLayout* layout = layout_.get();
    PangoContext* pango = pango_layout_get_context(layout);
    pango_cairo_context_set_resolution(pango, 72.0);
    pango_context_set_round_glyph_positions(pango, FALSE);
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango, options);
    cairo_font_options_destroy(options);
    pango_layout_context_changed(layout);

    PangoFontDescription* font = pango_font_description_new();
    pango_font_description_set_family(font, style.family == Family::serif ? "Noto Serif, DejaVu Serif, serif"
                                                                          : "Noto Sans, DejaVu Sans, sans");
    pango_font_description_set_absolute_size(font, style.size_pt * PANGO_SCALE);
    if (style.bold) pango_font_description_set_weight(font, PANGO_WEIGHT_SEMIBOLD);
    if (style.italic) pango_font_description_set_style(font, PANGO_STYLE_ITALIC);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);

    if (style.letter_spacing_pt != 0) {
        PangoAttrList* attributes = pango_attr_list_new();
        pango_attr_list_insert(attributes, pango_attr_letter_spacing_new(
                                               static_cast<int>(style.letter_spacing_pt * PANGO_SCALE)));
        pango_layout_set_attributes(layout, attributes);
        pango_attr_list_unref(attributes);
    }
    pango_layout_set_line_spacing(layout, static_cast<float>(style.leading));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    if (width_pt > 0) pango_layout_set_width(layout, static_cast<int>(width_pt * PANGO_SCALE));
    pango_layout_set_alignment(layout, align == Align::left     ? PANGO_ALIGN_LEFT
                                       : align == Align::centre ? PANGO_ALIGN_CENTER
                                                                : PANGO_ALIGN_RIGHT);
    char* valid = g_utf8_make_valid(text.data(), static_cast<gssize>(text.size()));
    pango_layout_set_text(layout, valid, -1);
    g_free(valid);

    PangoLayoutIter* at = pango_layout_get_iter(layout);
    do {
        PangoRectangle logical;
        int from = 0;
        int to = 0;
        pango_layout_iter_get_line_extents(at, nullptr, &logical);
        pango_layout_iter_get_line_yrange(at, &from, &to);
        lines_.push_back(
            {to_pt(from), to_pt(to), to_pt(pango_layout_iter_get_baseline(at)), to_pt(logical.x)});
    } while (pango_layout_iter_next_line(at));
    pango_layout_iter_free(at);
}

double TextBlock::width_pt() const {
    PangoRectangle logical;
    pango_layout_get_extents(layout_.get(), nullptr, &logical);
    return to_pt(logical.width);
}

double TextBlock::height_pt() const {
    return height_of_lines_pt(0, line_count());
}

int TextBlock::line_count() const {
    return static_cast<int>(lines_.size());
}

double TextBlock::baseline_pt() const {
    return lines_.front().baseline_pt;
}

double TextBlock::height_of_lines_pt(int first, int last) const {
    if (first >= last) return 0;
    return lines_[static_cast<std::size_t>(last - 1)].foot_pt -
           lines_[static_cast<std::size_t>(first)].top_pt;
}

void TextBlock::draw(cairo_t* context, double x, double y) const {
    draw_lines(context, x, y, 0, line_count());
}

void TextBlock::draw_lines(cairo_t* context, double x, double y, int first, int last) const {
    if (first >= last) return;
    set_ink(context, ink_);
    const double top = lines_[static_cast<std::size_t>(first)].top_pt;
    for (int i = first; i < last; ++i) {
        const Line& line = lines_[static_cast<std::size_t>(i)];
        cairo_move_to(context, x + line.left_pt, y + line.baseline_pt - top);
        pango_cairo_show_layout_line(context, pango_layout_get_line_readonly(layout_.get(), i));
    }
}

void set_ink(cairo_t* context, const Ink& ink) {
    cairo_set_source_rgb(context, ink.red, ink.green, ink.blue);
}

void draw_rule(cairo_t* context, double x, double y, double length, double thickness, const Ink& ink) {
    set_ink(context, ink);
    cairo_rectangle(context, x, y, length, thickness);
    cairo_fill(context);
}

}  // namespace frayhold::pack
