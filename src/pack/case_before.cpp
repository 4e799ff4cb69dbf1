// SPDX-License-Identifier: Apache-2.0
// The parts of the case's PDF that look back: readings beside earlier ones, and earlier checks.
#include "gauge/comparison.h"
#include "gauge/reading_words.h"
#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/words.h"
#include "record/earlier_reading.h"

namespace frayhold::pack {
namespace {

std::string change_words(const gauge::Reading& change) {
    return (change.value > 0 ? "+" : "") + gauge::value_words(change);
}

}  // namespace

void add_earlier_readings(Flow& flow, const CasePdfInput& input) {
    const std::vector<record::EarlierReading> earlier = record::earlier_readings(input.file);
    if (earlier.empty()) return;
    add_heading(flow, tr("Beside earlier readings"));
    add_paragraph(
        flow,
        tr("The newest earlier reading of the same kind of view. Whether both photos show one place is for a "
           "person to judge. A change smaller than its U may be none."),
        styles::aside, 0, true);
    std::vector<Row> rows;
    for (const record::EarlierReading& line : earlier) {
        const bool plain = gauge::is_plain(line.change);
        rows.push_back(
            {{capital(tr_word(gauge::words_for(line.now.measurand))), styles::table},
             {gauge::value_words(line.now) + "\n" + trf("photo {}", line.photo), styles::table},
             {gauge::value_words(line.before) + "\n" +
                  // Translators: a hold, a photo of it and its day: "H-2025-0003, photo 2, 2025-08-14".
                  trf("{}, photo {}, {}", line.hold, line.earlier_photo, to_text(day_of(line.earlier_added))),
              styles::table},
             {change_words(line.change), plain ? styles::table_strong : styles::table_quiet}});
    }
    const double name = mm(36);
    const double now = mm(38);
    const double change = mm(36);
    add_table(flow,
              {{tr("Reading"), name},
               {tr("Now"), now},
               {tr("Before"), flow.width() - name - now - change},
               {tr("Change"), change}},
              rows, 6);
}

void add_earlier_checks(Flow& flow, const CasePdfInput& input) {
    if (input.file.checks.empty()) return;
    add_heading(flow, tr("Earlier checks of this item"));
    std::vector<Row> rows;
    for (const record::ItemCheck& check : input.file.checks)
        rows.push_back({{check.done ? to_text(day_of(*check.done)) : "", styles::table},
                        {check.round, styles::table_quiet},
                        {check_words(check), styles::table},
                        {check.done_by, styles::table}});
    const double day = mm(20);
    const double round = mm(24);
    const double who = mm(36);
    add_table(flow,
              {{tr("Day"), day},
               {tr("Round"), round},
               {tr("Result and findings"), flow.width() - day - round - who},
               {tr("By"), who}},
              rows, 0);
}

}  // namespace frayhold::pack
