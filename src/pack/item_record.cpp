// SPDX-License-Identifier: Apache-2.0
#include "pack/item_record.h"

#include <algorithm>
#include <utility>

#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/flow.h"
#include "pack/pdf_document.h"
#include "pack/words.h"

namespace frayhold::pack {
namespace {

constexpr double side_margin_mm = 22;

bool is_in_year(Time time, int year) {
    return year == 0 || static_cast<int>(day_of(time).year()) == year;
}

std::string check_due_words(const ItemRecordInput& input) {
    if (!input.check_due) return tr("out of service");
    return input.checks.empty() ? tr("at once: never checked") : to_text(*input.check_due);
}

void add_front(Flow& flow, const ItemRecordInput& input) {
    const std::string what =
        input.year == 0 ? tr("RECORD OF EQUIPMENT") : trf("RECORD OF EQUIPMENT, {}", input.year);
    add_paragraph(
        flow, (input.outfit.empty() ? "" : input.outfit + " · ") + what,
        Style{
            .family = Family::sans, .size_pt = 7, .bold = true, .ink = inks::quiet, .letter_spacing_pt = 0.5},
        0, true);
    add_paragraph(flow, input.item.mark, Style{.size_pt = 27}, 6, true);
    add_paragraph(flow, item_words(input.item), Style{.size_pt = 12, .ink = inks::quiet}, 0);
    add_paragraph(
        flow,
        tr_word(criteria::caution) + " " +
            tr("Results are the words of the persons named. This record declares nothing fit for service."),
        Style{.size_pt = 9.4, .italic = true}, 10);

    const double name = mm(32);
    const bool out_of_service = !record::is_in_service(input.item.status);
    std::vector<Row> rows;
    const auto line = [&](const std::string& heading, const std::string& words,
                          const Style& style = styles::table) {
        if (!words.empty()) rows.push_back({{heading, styles::table_quiet}, {words, style}});
    };
    line(tr("Status"), capital(record::words_for(input.item.status)),
         out_of_service ? styles::alarm : styles::table_strong);
    line(tr("Limit"), input.item.limit, styles::alarm);
    line(tr("Life"), capital(input.life.words), input.life.counts_as_over() ? styles::alarm : styles::table);
    line(tr("Source of the life"), tr_recorded(input.item.life.source));
    line(tr("Next check due"), check_due_words(input));
    add_table(flow, {{"", name}, {"", flow.width() - name}}, rows, 12);
}

void add_identity(Flow& flow, const record::Item& item) {
    add_heading(flow, tr("The item"));
    const std::vector<std::pair<std::string, std::string>> facts{
        {tr("Own mark"), item.mark},
        {tr("Kind"), record::words_for(item.kind)},
        {tr("Maker"), or_unknown(item.maker)},
        {tr("Supplier"), or_unknown(item.supplier)},
        {tr("Model"), or_unknown(item.model)},
        {tr("Serial number"), or_unknown(item.serial)},
        {tr("Batch"), or_unknown(item.batch)},
        {tr("Standard marked on it"), or_unknown(item.standard)},
        {tr("Material"), or_unknown(item.material)},
        {tr("Length"), or_unknown(item.length)},
        {tr("Diameter or width"), or_unknown(item.diameter_or_width)},
        {tr("Sheath, core"), or_unknown(item.sheath_colour) + "; " + or_unknown(item.core_colour)},
        {tr("Made"), or_unknown(item.made)},
        {tr("Bought"), or_unknown(item.bought)},
        {tr("First used"), or_unknown(item.first_used)},
        {tr("User"), or_unknown(item.used_by)},
        {tr("Use"), record::words_for(item.use)},
        {tr("Place"), or_unknown(item.place)},
        {tr("Kit"), or_unknown(item.kit)},
        {tr("Cut from"), item.parent.empty() ? tr("a whole item") : item.parent},
    };
    add_facts(flow, facts);
    if (!item.note.empty()) add_paragraph(flow, trf("Note: {}", item.note), styles::aside, 6);
}

void add_checks(Flow& flow, const ItemRecordInput& input) {
    add_heading(flow, tr("Checks"));
    std::vector<record::ItemCheck> checks;
    for (const record::ItemCheck& check : input.checks)
        if (check.done && check.result && is_in_year(*check.done, input.year)) checks.push_back(check);
    std::sort(checks.begin(), checks.end(),
              [](const record::ItemCheck& a, const record::ItemCheck& b) { return *a.done < *b.done; });
    if (checks.empty())
        return add_paragraph(flow,
                             input.year == 0 ? tr("None is recorded.") : tr("None is recorded in this year."),
                             styles::body, 0);
    std::vector<Row> rows;
    for (const record::ItemCheck& check : checks)
        rows.push_back({{to_text(day_of(*check.done)), styles::table},
                        {check.round, styles::table_quiet},
                        {check_words(check), check.hold.empty() ? styles::table : styles::table_strong},
                        {check.done_by, styles::table},
                        {check.next_due ? to_text(*check.next_due) : "", styles::table},
                        {"", styles::table}});
    const double day = mm(18);
    const double round = mm(21);
    const double who = mm(28);
    const double next = mm(18);
    const double sign = mm(24);
    add_table(flow,
              {{tr("Day"), day},
               {tr("Round"), round},
               {tr("Result and findings"), flow.width() - day - round - who - next - sign},
               {tr("By"), who},
               {tr("Next due"), next},
               {tr("Signature"), sign}},
              rows, 0);
}

void add_holds(Flow& flow, const ItemRecordInput& input) {
    std::vector<Row> rows;
    for (const record::EarlierHold& hold : input.holds) {
        const bool decided_then = hold.verdict && is_in_year(hold.verdict->given, input.year);
        if (!is_in_year(hold.hold.opened, input.year) && !decided_then) continue;
        std::string verdict = tr("none yet: out of service");
        if (hold.verdict) {
            verdict = verdict_words(*hold.verdict);
            if (!hold.verdict->limit.empty()) verdict += "\n" + trf("Limit: {}", hold.verdict->limit);
            if (!hold.verdict->reason.empty()) verdict += "\n" + hold.verdict->reason;
            if (!hold.verdict->witness.empty()) verdict += "\n" + trf("Witness: {}", hold.verdict->witness);
            for (const std::string& rule : hold.verdict->given_against)
                verdict += "\n" + trf("Given against: {}", tr_recorded(rule));
        }
        const bool alarm = hold.verdict && hold.verdict->is_override();
        rows.push_back({{hold.hold.number, styles::table_quiet},
                        {to_text(day_of(hold.hold.opened)), styles::table},
                        {tr_recorded(hold.hold.seen), styles::table},
                        {verdict, alarm ? styles::alarm : styles::table}});
    }
    if (rows.empty()) return;
    add_heading(flow, tr("Holds and verdicts"));
    const double number = mm(24);
    const double day = mm(20);
    const double rest = (flow.width() - number - day) / 2;
    add_table(flow,
              {{tr("Hold"), number}, {tr("Opened"), day}, {tr("What was seen"), rest}, {tr("Verdict"), rest}},
              rows, 0);
}

void add_parts(Flow& flow, const ItemRecordInput& input) {
    if (input.parts.empty()) return;
    add_heading(flow, tr("Parts kept from it"));
    std::vector<Row> rows;
    for (const record::Item& part : input.parts)
        rows.push_back({{part.mark, styles::table_strong},
                        {or_unknown(part.length), styles::table},
                        {record::words_for(part.status), styles::table}});
    add_table(flow, {{tr("Mark"), mm(50)}, {tr("Length"), mm(40)}, {tr("Status"), flow.width() - mm(90)}},
              rows, 0);
}

void add_entries(Flow& flow, const ItemRecordInput& input) {
    std::vector<Row> rows;
    std::string last;
    for (const record::JournalEntry& entry : input.journal) {
        if (!is_in_year(entry.time, input.year)) continue;
        rows.push_back(journal_row(entry));
        last = entry.hash;
    }
    if (rows.empty()) return;
    add_heading(flow, tr("Journal"));
    add_journal_table(flow, rows, 0);
    add_paragraph(flow, trf("Hash of the last entry: {}", last),
                  Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet}, 6);
}

}  // namespace

std::vector<std::byte> item_record_pdf(const ItemRecordInput& input) {
    PdfDocument document(trf("Record of {}", input.item.mark), input.outfit, input.made);
    Flow flow(document, TextArea{mm(side_margin_mm), mm(22), mm(a4_width_mm - 2 * side_margin_mm),
                                 mm(a4_height_mm - 24)});
    add_front(flow, input);
    add_identity(flow, input.item);
    add_checks(flow, input);
    add_holds(flow, input);
    add_parts(flow, input);
    add_entries(flow, input);
    flow.draw_pages([&](cairo_t* context, int page, int count) {
        const double left = mm(side_margin_mm);
        const double right = mm(a4_width_mm - side_margin_mm);
        const double y = mm(a4_height_mm - 17);
        draw_rule(context, left, y - mm(2), right - left, 0.4, inks::line);
        draw_foot(context, left, right, y,
                  input.item.mark + " · " + to_text(day_of(input.made)) + " · " +
                      trf("page {} of {}", page, count));
    });
    return document.finish();
}

}  // namespace frayhold::pack
