// SPDX-License-Identifier: Apache-2.0
#include "web/paper_pages.h"

#include <fmt/format.h>

#include "desk/charts.h"
#include "desk/papers.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/listing.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

pack::Paper paper_asked(const Request& request) {
    const std::string name = request.field("paper").empty() ? "a4" : request.field("paper");
    if (const std::optional<pack::Paper> paper = desk::paper_named(name)) return *paper;
    throw Failure(Fault::input, tr("paper"), trf("\"{}\" is not known", record::as_plain_text(name)),
                  "choose a4 or letter");
}

desk::ItemFilter narrowed(const Request& request) {
    desk::ItemFilter filter;
    filter.kit = record::trimmed(request.field("kit"));
    filter.place = record::trimmed(request.field("place"));
    return filter;
}

json print_data(const Visit& visit) {
    const Request& request = visit.request;
    json data{{"title", tr("Print")}};
    for (const char* field : {"marks", "kit", "place", "first"}) data[field] = request.field(field);
    const std::string sheet = request.field("sheet").empty() ? "a4-3x7" : request.field("sheet");
    json sheets = json::array();
    for (const pack::LabelSheet& each : pack::label_sheets())
        sheets.push_back({{"name", each.name},
                          {"words", trf("{}, {} across, {} down, {:g} × {:g} mm",
                                        each.name.starts_with("a4") ? "A4" : tr("US Letter"), each.across,
                                        each.down, each.width_mm, each.height_mm)},
                          {"chosen", each.name == sheet}});
    data["sheets"] = sheets;
    return data;
}

}  // namespace

Answer print_page(const Visit& visit) {
    return visit.page("print", print_data(visit));
}

Answer labels_pdf(const Visit& visit) {
    const Request& request = visit.request;
    try {
        // A mark may hold blanks.
        const std::vector<std::string> marks = parts_typed(request.field("marks"), ",\n");
        const desk::ItemFilter filter = narrowed(request);
        if (marks.empty() && filter.kit.empty() && filter.place.empty())
            throw Failure(Fault::input, tr("labels"), "no item is named", "give marks, a kit or a place");
        const std::string name = request.field("sheet").empty() ? "a4-3x7" : request.field("sheet");
        const pack::LabelSheet* sheet = desk::label_sheet_named(name);
        if (sheet == nullptr)
            throw Failure(Fault::input, tr("label sheet"),
                          trf("\"{}\" is not known", record::as_plain_text(name)), "choose one of the list");
        const std::string first = record::trimmed(request.field("first"));
        return own_pdf("labels.pdf",
                       pack::item_tags_pdf(desk::tagged_items(visit.desk, marks, filter), *sheet,
                                           first.empty() ? 1 : whole_number(first, tr("first label"))));
    } catch (const Failure& failure) {
        return visit.page_again("print", print_data(visit), failure.error());
    }
}

Answer shelf_pdf(const Visit& visit) {
    const Request& request = visit.request;
    try {
        const pack::Paper paper = paper_asked(request);
        const desk::ItemFilter filter = narrowed(request);
        if (filter.kit.empty() == filter.place.empty())
            throw Failure(Fault::input, tr("shelf list"), "it is not clear which list is meant",
                          "name a kit or a place, not both");
        const std::string title = filter.kit.empty() ? filter.place : trf("Kit {}", filter.kit);
        return own_pdf(
            "shelf-list.pdf",
            pack::shelf_list_pdf(title, desk::tagged_items(visit.desk, {}, filter), paper, visit.desk.now()));
    } catch (const Failure& failure) {
        return visit.page_again("print", print_data(visit), failure.error());
    }
}

Answer hold_tag_pdf(const Visit& visit, const std::string& hold) {
    return own_pdf(hold + "-tag.pdf", desk::hold_tag(visit.desk, hold, paper_asked(visit.request)));
}

Answer item_record_pdf(const Visit& visit) {
    const Request& request = visit.request;
    const std::string mark = request.field("mark");
    const int year = request.field("year").empty() ? 0 : whole_number(request.field("year"), tr("year"));
    constexpr int first_year = 1900, last_year = 9999;
    if (year != 0 && (year < first_year || year > last_year))
        throw Failure(Fault::input, tr("year"), trf("{} is no year", year), "give one such as 2026");
    return own_pdf(mark + (year == 0 ? "" : fmt::format("-{}", year)) + ".pdf",
                   desk::item_record(visit.desk, mark, year, visit.house.outfit, visit.desk.now()));
}

Answer charts_page(const Visit& visit) {
    json charts = json::array();
    for (const desk::Chart& chart : desk::charts_of(visit.desk.figures(), visit.desk.today()))
        charts.push_back({{"svg", chart.svg}});
    return visit.page("charts", {{"title", tr("What the store shows")}, {"charts", charts}});
}

}  // namespace frayhold::web
