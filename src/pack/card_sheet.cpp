// SPDX-License-Identifier: Apache-2.0
#include "pack/card_sheet.h"

#include <cairo.h>

#include <algorithm>
#include <map>
#include <opencv2/core.hpp>
#include <string_view>

#include "gauge/card_design.h"
#include "language/tr.h"
#include "pack/lettering.h"
#include "pack/pdf_document.h"
#include "photo/encode.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

constexpr Ink black{0, 0, 0};
constexpr std::size_t longest_hold_number = 16;

// Largest size, up to the wish, at which the text fits the width on one line.
TextBlock fitted(cairo_t* context, std::string_view text, Style style, double width_pt) {
    TextBlock block(context, text, style);
    if (block.width_pt() <= width_pt) return block;
    style.size_pt *= width_pt / block.width_pt();
    return TextBlock(context, text, style);
}

// The card's face with its top left corner at the origin, in points, on paper that is already white.
void draw_card(cairo_t* context, const std::optional<std::string>& hold_number) {
    // Touching patches of one grey become one path, so that no seam shows between them.
    std::map<int, std::vector<cv::Rect2d>> by_grey;
    for (const gauge::CardPatch& patch : gauge::card_patches()) by_grey[patch.grey].push_back(patch.rect_mm);
    for (const auto& [grey, rects] : by_grey) {
        const double level = grey / 255.0;
        set_ink(context, {level, level, level});
        for (const cv::Rect2d& r : rects)
            cairo_rectangle(context, mm(r.x), mm(r.y), mm(r.width), mm(r.height));
        cairo_fill(context);
    }

    const cv::Rect2d hold = gauge::hold_number_area_mm;
    fitted(context, tr("HOLD"),
           Style{.family = Family::sans, .size_pt = 6, .bold = true, .ink = black, .letter_spacing_pt = 0.8},
           mm(hold.width))
        .draw(context, mm(hold.x), mm(hold.y));
    const double line_y = mm(hold.br().y) - mm(0.8);
    if (hold_number) {
        const TextBlock number =
            fitted(context, *hold_number,
                   Style{.family = Family::sans, .size_pt = 19, .bold = true, .ink = black}, mm(hold.width));
        number.draw(context, mm(hold.x), line_y - mm(1.6) - number.baseline_pt());
    }
    draw_rule(context, mm(hold.x), line_y, mm(hold.width), mm(0.25), black);

    const cv::Rect2d name = gauge::name_area_mm;
    const TextBlock title = fitted(
        context, tr("FRAYHOLD REFERENCE CARD"),
        Style{.family = Family::sans, .size_pt = 6.4, .bold = true, .ink = black, .letter_spacing_pt = 0.55},
        mm(name.width));
    title.draw(context, mm(name.x), mm(name.y));
    const TextBlock size =
        fitted(context, tr("85.60 × 53.98 mm. Print at 100 %. Upper ticks: 40 mm."),
               Style{.family = Family::sans, .size_pt = 5.2, .ink = black}, mm(name.width));
    size.draw(context, mm(name.x), mm(name.y) + title.height_pt() + mm(0.6));
}

// Hairlines outside the card that point at its corners.
void draw_cutting_marks(cairo_t* context, double x, double y) {
    const double gap = mm(2);
    const double length = mm(7);
    const double width = mm(gauge::id1_width_mm);
    const double height = mm(gauge::id1_height_mm);
    set_ink(context, black);
    cairo_set_line_width(context, mm(0.1));
    for (const double across : {x, x + width}) {
        cairo_move_to(context, across, y - gap - length);
        cairo_line_to(context, across, y - gap);
        cairo_move_to(context, across, y + height + gap);
        cairo_line_to(context, across, y + height + gap + length);
    }
    for (const double down : {y, y + height}) {
        cairo_move_to(context, x - gap - length, down);
        cairo_line_to(context, x - gap, down);
        cairo_move_to(context, x + width + gap, down);
        cairo_line_to(context, x + width + gap + length, down);
    }
    cairo_stroke(context);
}

struct Step {
    std::string name;
    std::string words;
};

std::vector<Step> making() {
    return {
        {trc("to make the card", "Print"),
         tr("At 100 %, on matt white paper. Switch off “fit to page” and any other scaling.")},
        {trc("to make the card", "Check"),
         tr("Lay a steel rule along the ticks at the top of the card: the first and the last tick are 40.0 "
            "mm "
            "apart. If they are off by more than 0.1 mm, do not use the card: mend the print setting.")},
        {trc("to make the card", "Cut"),
         tr("With knife and rule, from mark to mark. Leave the corners square and the black frame whole.")},
        {trc("to make the card", "Mount"),
         tr("Glue it flat on stiff board of the same size, so that it cannot curl.")},
        {trc("to make the card", "Keep"),
         tr("Clean, dry and flat. Make a new one when it is bent, stained or worn: a spoilt card gives wrong "
            "millimetres.")},
    };
}

std::vector<Step> using_it() {
    return {
        {trc("to use the card", "Place"), tr("Beside the damage, as close as it can lie without covering any "
                                             "of it, flat, and at the same height "
                                             "as the item where you can raise it.")},
        {trc("to use the card", "Light"),
         tr("Even and from the side, with no glare on the card and no shadow across it.")},
        {trc("to use the card", "Take"),
         tr("Straight from above, the whole card in the picture, with the camera held still.")},
    };
}

// Steps under a heading, each with its name beside it; gives the height of their foot.
double draw_steps(cairo_t* context, double x, double y, double width, const std::string& heading,
                  const std::vector<Step>& steps, double size_pt) {
    const Style bold{.family = Family::sans, .size_pt = size_pt, .bold = true};
    double name_width = mm(20);
    for (const Step& step : steps)
        name_width = std::max(name_width, TextBlock(context, step.name, bold).width_pt() + mm(3));
    const TextBlock title(context, heading, Style{.size_pt = 13});
    title.draw(context, x, y);
    y += title.height_pt() + mm(1.5);
    for (const Step& step : steps) {
        draw_rule(context, x, y, width, 0.5, inks::line);
        y += mm(1.6);
        TextBlock(context, step.name, bold).draw(context, x, y);
        const TextBlock words(context, step.words, Style{.family = Family::sans, .size_pt = size_pt},
                              width - name_width);
        words.draw(context, x + name_width, y);
        y += words.height_pt() + mm(1.6);
    }
    return y;
}

// Everything below the card; gives the height of its foot.
double draw_all_steps(cairo_t* context, double x, double y, double width, double size_pt) {
    y = draw_steps(context, x, y, width, tr("To make it"), making(), size_pt);
    y = draw_steps(context, x, y + mm(7), width, tr("To use it"), using_it(), size_pt);
    draw_rule(context, x, y, width, 0.5, inks::line);
    return y;
}

// The size of letters in which the steps fit on the rest of the page: in some languages they are longer.
double size_of_steps(double top, double width) {
    constexpr double usual_pt = 9;
    constexpr double least_pt = 6;
    const std::shared_ptr<cairo_surface_t> nowhere(
        cairo_recording_surface_create(CAIRO_CONTENT_COLOR, nullptr), cairo_surface_destroy);
    const std::shared_ptr<cairo_t> context(cairo_create(nowhere.get()), cairo_destroy);
    double size_pt = usual_pt;
    while (size_pt > least_pt &&
           draw_all_steps(context.get(), 0, top, width, size_pt) > mm(a4_height_mm - 12))
        size_pt -= 0.25;
    return size_pt;
}

void demand_printable(const std::optional<std::string>& hold_number) {
    if (!hold_number) return;
    const bool plain =
        hold_number->find_first_not_of(
            "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-./ ") == std::string::npos;
    if (hold_number->empty() || hold_number->size() > longest_hold_number || !plain)
        throw Failure(Fault::input, tr("hold number"),
                      "a card has room for 1 to 16 letters, digits, spaces, dots, dashes and strokes",
                      "give the number as it stands in the list of holds");
}

// The blue channel of a grey RGB24 surface.
cv::Mat grey_of(cairo_surface_t* surface) {
    const cv::Mat pixels(cairo_image_surface_get_height(surface), cairo_image_surface_get_width(surface),
                         CV_8UC4, cairo_image_surface_get_data(surface),
                         static_cast<std::size_t>(cairo_image_surface_get_stride(surface)));
    cv::Mat grey;
    cv::extractChannel(pixels, grey, 0);
    return grey;
}

}  // namespace

std::vector<std::byte> card_pdf(const std::optional<std::string>& hold_number) {
    demand_printable(hold_number);
    PdfDocument document(tr("Frayhold reference card"), "", std::nullopt);
    cairo_t* context = document.context();
    const double left = mm(25);
    const double width = mm(a4_width_mm) - 2 * left;

    TextBlock(context, tr("Reference card"), Style{.size_pt = 22}).draw(context, left, mm(20));
    TextBlock(context,
              tr("The measure in your pictures. Every millimetre read from a photo rests on this card."),
              Style{.size_pt = 10, .italic = true, .ink = inks::quiet}, width)
        .draw(context, left, mm(31));

    const double card_x = (mm(a4_width_mm) - mm(gauge::id1_width_mm)) / 2;
    const double card_y = mm(56);
    draw_cutting_marks(context, card_x, card_y);
    cairo_save(context);
    cairo_translate(context, card_x, card_y);
    draw_card(context, hold_number);
    cairo_restore(context);

    const double steps_top = mm(136);
    draw_all_steps(context, left, steps_top, width, size_of_steps(steps_top, width));

    document.end_page();
    return document.finish();
}

std::vector<std::byte> card_png(const std::optional<std::string>& hold_number) {
    demand_printable(hold_number);
    const std::shared_ptr<cairo_surface_t> surface(
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, card_png_width_px, card_png_height_px),
        cairo_surface_destroy);
    const std::shared_ptr<cairo_t> context(cairo_create(surface.get()), cairo_destroy);
    if (cairo_status(context.get()) != CAIRO_STATUS_SUCCESS)
        throw Failure(Fault::outside, tr("card PNG"), "not enough memory for the picture",
                      "close other programs");
    cairo_set_source_rgb(context.get(), 1, 1, 1);
    cairo_paint(context.get());
    const double px_per_pt = 1.0 / (card_png_mm_per_px * pt_per_mm);
    cairo_scale(context.get(), px_per_pt, px_per_pt);
    draw_card(context.get(), hold_number);
    cairo_surface_flush(surface.get());
    return photo::encode_png(grey_of(surface.get()), 1.0 / card_png_mm_per_px);
}

}  // namespace frayhold::pack
