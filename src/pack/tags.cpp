// SPDX-License-Identifier: Apache-2.0
#include "pack/tags.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numbers>

#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/flow.h"
#include "pack/lettering.h"
#include "pack/qr_code.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

constexpr double inch_mm = 25.4;

constexpr std::array sheets{
    LabelSheet{"a4-3x7", papers::a4, 3, 7, 63.5, 38.1, 7.25, 15.15, 66.0, 38.1},
    LabelSheet{"a4-2x4", papers::a4, 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7},
    LabelSheet{"letter-3x10", papers::letter, 3, 10, 2.625 * inch_mm, inch_mm, 0.1875 * inch_mm,
               0.5 * inch_mm, 2.75 * inch_mm, inch_mm},
    LabelSheet{"letter-2x5", papers::letter, 2, 5, 4.0 * inch_mm, 2.0 * inch_mm, 0.15625 * inch_mm,
               0.5 * inch_mm, 4.1875 * inch_mm, 2.0 * inch_mm},
};

Style sans(double size_pt, bool bold = false, const Ink& ink = inks::text) {
    return {.family = Family::sans, .size_pt = size_pt, .bold = bold, .ink = ink};
}

// In the largest of the sizes at which it stands on one line of the width; broken into lines at the smallest.
TextBlock fitted(cairo_t* context, const std::string& words, double largest_pt, double smallest_pt,
                 double width, bool bold, const Ink& ink = inks::text) {
    for (double size = largest_pt; size > smallest_pt; size -= 0.5) {
        TextBlock block(context, words, sans(size, bold, ink));
        if (block.width_pt() <= width) return block;
    }
    return {context, words, sans(smallest_pt, bold, ink), width};
}

std::string model_words(const record::Item& item) {
    std::string words = item.model.empty() ? record::words_for(item.kind) : item.model;
    if (item.diameter_or_width) words += fmt::format(", {:g} mm", item.diameter_or_width->value());
    if (item.length) words += ", " + record::length_words(*item.length);
    return words;
}

std::string life_words(const record::LifeEnd& life) {
    if (life.state == record::LifeState::unknown_date) return tr("life unknown: counts as over");
    if (!life.over_from) return "";
    const std::string day = to_text(*life.over_from);
    return life.counts_as_over() ? trf("life over since {}", day) : trf("life until {}", day);
}

void draw_item_tag(cairo_t* context, const TaggedItem& tagged, double x, double y, double width,
                   double height) {
    const record::Item& item = tagged.item;
    const double pad = mm(2);
    const double side = std::min(height - 2 * pad, mm(30));
    draw_qr(context, qr_code(item_code(item.mark)), x + pad, y + (height - side) / 2, side);
    const double left = x + pad + side + mm(1.5);
    const double room = x + width - pad - left;
    std::vector<TextBlock> lines{fitted(context, item.mark, 17, 8, room, true)};
    const auto add = [&](const std::string& words, bool strong = false) {
        if (!words.empty())
            lines.emplace_back(context, words, sans(6.6, strong, strong ? inks::accent : inks::text), room);
    };
    if (!item.limit.empty()) add(trf("LIMIT: {}", item.limit), true);
    add(model_words(item));
    if (!item.serial.empty()) add(trf("serial {}", item.serial));
    add(life_words(tagged.life), tagged.life.counts_as_over());
    if (!item.maker.empty()) add(item.maker);
    double at = y + pad;
    const double foot = y + height - pad;
    for (const TextBlock& line : lines) {
        // As many lines as the label holds; the mark and a limit stand first.
        int fits = line.line_count();
        while (fits > 0 && at + line.height_of_lines_pt(0, fits) > foot) --fits;
        if (fits == 0) break;
        line.draw_lines(context, left, at, 0, fits);
        at += line.height_of_lines_pt(0, fits) + 0.6;
    }
}

void draw_cutting_marks(cairo_t* context, double x, double y, double width, double height) {
    set_ink(context, {0, 0, 0});
    cairo_set_line_width(context, 0.3);
    const double gap = mm(1.5);
    const double length = mm(5);
    for (const double across : {x, x + width})
        for (const auto& [from, to] :
             {std::pair{y - gap - length, y - gap}, std::pair{y + height + gap, y + height + gap + length}}) {
            cairo_move_to(context, across, from);
            cairo_line_to(context, across, to);
        }
    for (const double down : {y, y + height})
        for (const auto& [from, to] :
             {std::pair{x - gap - length, x - gap}, std::pair{x + width + gap, x + width + gap + length}}) {
            cairo_move_to(context, from, down);
            cairo_line_to(context, to, down);
        }
    cairo_stroke(context);
}

std::string day_words(Time time) {
    return to_text(day_of(time));
}

std::string status_words(const TaggedItem& tagged) {
    std::string words = record::words_for(tagged.item.status);
    if (!tagged.hold.empty()) words += " " + tagged.hold;
    if (!tagged.item.limit.empty()) words += ": " + tagged.item.limit;
    return words;
}

// One line of the shelf list: box to tick, QR code, mark, what it is, status, life, next check.
Block shelf_row(cairo_t* context, const TaggedItem& tagged, double width) {
    const double side = mm(15);
    struct Placed {
        double x;
        TextBlock text;
    };
    const auto parts = std::make_shared<std::vector<Placed>>();
    const bool alarm = !record::is_in_service(tagged.item.status) || !tagged.item.limit.empty();
    const double what = mm(26) + side;
    const double status = width - mm(74);
    const double life = width - mm(36);
    parts->push_back({mm(8) + side, fitted(context, tagged.item.mark, 11, 7.5, mm(24), true)});
    parts->push_back({what + mm(8), TextBlock(context,
                                              model_words(tagged.item) +
                                                  (tagged.item.maker.empty() ? "" : "\n" + tagged.item.maker),
                                              sans(7.6), status - what - mm(11))});
    parts->push_back({status, TextBlock(context, status_words(tagged),
                                        sans(7.6, alarm, alarm ? inks::accent : inks::text), mm(35))});
    std::string dates = life_words(tagged.life);
    if (tagged.check_due)
        dates += (dates.empty() ? "" : "\n") + (*tagged.check_due == record::due_at_once
                                                    ? tr("check at once")
                                                    : trf("check by {}", to_text(*tagged.check_due)));
    parts->push_back({life, TextBlock(context, dates, sans(7.6, tagged.life.counts_as_over()), mm(36))});
    double height = side;
    for (const Placed& part : *parts) height = std::max(height, part.text.height_pt());
    const auto code = std::make_shared<const QrCode>(qr_code(item_code(tagged.item.mark)));
    Block block;
    block.height = height + mm(1.5);
    block.draw = [parts, code, side, width, height](cairo_t* at, double x, double y) {
        set_ink(at, inks::quiet);
        cairo_set_line_width(at, 0.6);
        cairo_rectangle(at, x + 0.5, y + height / 2 - mm(2), mm(4), mm(4));
        cairo_stroke(at);
        draw_qr(at, *code, x + mm(6), y + (height - side) / 2, side);
        for (const Placed& part : *parts)
            part.text.draw(at, x + part.x, y + (height - part.text.height_pt()) / 2);
        draw_rule(at, x, y + height + mm(0.7), width, 0.4, inks::line);
    };
    return block;
}

}  // namespace

std::string item_code(const std::string& mark) {
    return "frayhold:item:" + mark;
}

std::string hold_code(const std::string& number) {
    return "frayhold:hold:" + number;
}

std::span<const LabelSheet> label_sheets() {
    return sheets;
}

std::vector<std::byte> item_tags_pdf(std::span<const TaggedItem> items, const LabelSheet& sheet,
                                     int first_label) {
    const int per_page = sheet.across * sheet.down;
    if (first_label < 1 || first_label > per_page)
        throw Failure(Fault::input, tr("first label"),
                      trf("a sheet {} has no label {}", sheet.name, first_label),
                      trf("give 1 to {}", per_page));
    PdfDocument document(tr("Item tags"), "", std::nullopt, sheet.paper);
    int at = first_label - 1;
    for (const TaggedItem& tagged : items) {
        if (at == per_page) {
            document.end_page();
            at = 0;
        }
        const int column = at % sheet.across;
        const int row = at / sheet.across;
        const double x = sheet.left_mm + column * sheet.step_x_mm;
        const double y = sheet.top_mm + row * sheet.step_y_mm;
        draw_item_tag(document.context(), tagged, mm(x), mm(y), mm(sheet.width_mm), mm(sheet.height_mm));
        ++at;
    }
    document.end_page();
    return document.finish();
}

std::vector<std::byte> hold_tag_pdf(const record::CaseFile& file, const Paper& paper) {
    PdfDocument document(trf("Hold tag {}", file.hold.number), "", std::nullopt, paper);
    cairo_t* context = document.context();
    const double width = mm(105);
    const double height = mm(148);
    const double x = (mm(paper.width_mm) - width) / 2;
    const double y = mm(25);
    draw_cutting_marks(context, x, y, width, height);
    const double band = mm(34);
    set_ink(context, inks::accent);
    cairo_rectangle(context, x, y, width, band);
    cairo_fill(context);
    // Where the tie goes through.
    set_ink(context, {1, 1, 1});
    cairo_arc(context, x + width / 2, y + mm(6), mm(2.5), 0, 2 * std::numbers::pi);
    cairo_fill(context);
    const Ink white{1, 1, 1};
    const double room_in_band = width - mm(8);
    const TextBlock title = fitted(context, tr("DO NOT USE"), 34, 16, room_in_band, true, white);
    // On the same foot in every size.
    const double full_height = TextBlock(context, "X", sans(34, true)).height_pt();
    title.draw(context, x + (width - title.width_pt()) / 2,
               y + mm(11) + (full_height - title.height_pt()) / 2);
    const TextBlock under =
        fitted(context, tr("on hold until a competent person decides"), 9, 6, room_in_band, false, white);
    under.draw(context, x + (width - under.width_pt()) / 2, y + mm(26.5));

    const double side = mm(38);
    const double left = x + mm(6);
    draw_qr(context, qr_code(hold_code(file.hold.number)), left, y + band + mm(5), side);
    const double right = left + side + mm(4);
    const double room = x + width - mm(6) - right;
    double at = y + band + mm(7);
    const auto add = [&](const TextBlock& block, double gap) {
        block.draw(context, right, at);
        at += block.height_pt() + gap;
    };
    add(TextBlock(context, tr("HOLD"), sans(7, true, inks::quiet)), 0);
    add(fitted(context, file.hold.number, 18, 10, room, true), mm(2.5));
    add(TextBlock(context, tr("ITEM"), sans(7, true, inks::quiet)), 0);
    add(fitted(context, file.item.mark, 18, 10, room, true), 0);

    at = y + band + mm(5) + side + mm(4);
    const double wide = width - mm(12);
    const auto below = [&](const std::string& words, const Style& style, double gap, double foot) {
        const TextBlock block(context, words, style, wide);
        int fits = block.line_count();
        while (fits > 0 && at + block.height_of_lines_pt(0, fits) > foot) --fits;
        block.draw_lines(context, left, at, 0, fits);
        at += block.height_of_lines_pt(0, fits) + gap;
    };
    const double foot = y + height - mm(20);
    std::string what = record::words_for(file.item.kind);
    for (const std::string& part : {file.item.maker, model_words(file.item)})
        if (!part.empty() && part != what) what += ", " + part;
    below(what, sans(9), mm(3), foot);
    below(tr_recorded(file.hold.seen), Style{.size_pt = 13}, mm(3), foot);
    at = y + height - mm(19);
    below(fmt::format("{}, {}", file.hold.opened_by, day_words(file.hold.opened)),
          sans(8.4, false, inks::quiet), mm(1.5), y + height);
    below(tr_word(criteria::caution), Style{.size_pt = 8.4, .italic = true, .ink = inks::quiet}, 0,
          y + height);
    document.end_page();
    return document.finish();
}

std::vector<std::byte> shelf_list_pdf(const std::string& title, std::span<const TaggedItem> items,
                                      const Paper& paper, Time made) {
    PdfDocument document(trf("Shelf list: {}", title), "", made, paper);
    const double margin = mm(18);
    const double width = mm(paper.width_mm) - 2 * margin;
    Flow flow(document, TextArea{margin, mm(18), width, mm(paper.height_mm) - mm(22)});
    add_paragraph(flow, title, Style{.size_pt = 20}, 0, true);
    add_paragraph(flow,  // Translators: how many items the list has, and the day it was made.
                  trn("{} item, {}", "{} items, {}", items.size(), day_words(made)),
                  sans(8, false, inks::quiet), 2, true);
    for (const TaggedItem& tagged : items) {
        Block row = shelf_row(flow.context(), tagged, width);
        row.gap = &tagged == items.data() ? 8 : mm(1);
        flow.add(std::move(row));
    }
    if (items.empty()) add_paragraph(flow, tr("Nothing should be here."), Style{}, 8);
    flow.draw_pages([&](cairo_t* context, int page, int count) {
        const double y = mm(paper.height_mm) - mm(14);
        draw_foot(context, margin, margin + width, y, title + " · " + trf("page {} of {}", page, count));
    });
    return document.finish();
}

}  // namespace frayhold::pack
