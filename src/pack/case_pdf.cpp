// SPDX-License-Identifier: Apache-2.0
#include "pack/case_pdf.h"

#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/flow.h"
#include "pack/pdf_document.h"

namespace frayhold::pack {
namespace {

constexpr double side_margin_mm = 22;
constexpr double top_margin_mm = 24;
constexpr double bottom_margin_mm = 24;

// What stands on every page outside the text: the case at the head of the pages behind the first, the caution
// and the page's number at the foot.
void draw_furniture(cairo_t* context, const record::CaseFile& file, int page, int count) {
    const double left = mm(side_margin_mm);
    const double right = mm(a4_width_mm - side_margin_mm);
    const Style small{.family = Family::sans, .size_pt = 7, .ink = inks::quiet};
    if (page > 1) {
        const double y = mm(14);
        std::string item = file.item.model;
        if (!file.item.serial.empty()) item += (item.empty() ? "" : ", ") + file.item.serial;
        TextBlock(context, file.hold.number, small).draw(context, left, y);
        const TextBlock name(
            context, item.empty() ? trf("mark {}", file.item.mark) : trf("{}, mark {}", item, file.item.mark),
            small, right - left - mm(40), Align::right);
        name.draw_lines(context, left + mm(40), y, 0, 1);
        draw_rule(context, left, y + mm(5), right - left, 0.4, inks::line);
    }
    const double y = mm(a4_height_mm - 17);
    draw_rule(context, left, y - mm(2), right - left, 0.4, inks::line);
    draw_foot(context, left, right, y, file.hold.number + " · " + trf("page {} of {}", page, count));
}

}  // namespace

std::vector<std::byte> case_pdf(const CasePdfInput& input) {
    PdfDocument document(trf("{}: evidence for a query to the maker", input.file.hold.number), input.outfit,
                         input.made);
    Flow flow(document, TextArea{mm(side_margin_mm), mm(top_margin_mm), mm(a4_width_mm - 2 * side_margin_mm),
                                 mm(a4_height_mm - bottom_margin_mm)});
    add_front(flow, input);
    add_item(flow, input);
    add_seen(flow, input);
    add_criteria(flow, input);
    add_questions(flow, input);
    add_photos(flow, document, input);
    add_earlier_readings(flow, input);
    add_correspondence(flow, input);
    add_verdict(flow, input);
    add_earlier_checks(flow, input);
    add_earlier(flow, input);
    add_journal(flow, input);
    flow.draw_pages(
        [&](cairo_t* context, int page, int count) { draw_furniture(context, input.file, page, count); });
    return document.finish();
}

}  // namespace frayhold::pack
