// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "pack/case_pdf.h"
#include "pack/flow.h"

// The parts of the case's PDF, each added to the flow where there is anything to say.
namespace frayhold::pack {

namespace styles {
inline const Style body{.family = Family::serif, .size_pt = 9.4, .leading = 1.05};
inline const Style aside{.family = Family::serif, .size_pt = 8.6, .italic = true, .ink = inks::quiet};
inline const Style table{.family = Family::sans, .size_pt = 7.8};
inline const Style table_strong{.family = Family::sans, .size_pt = 7.8, .bold = true};
inline const Style table_quiet{.family = Family::sans, .size_pt = 7.8, .ink = inks::quiet};
inline const Style alarm{.family = Family::sans, .size_pt = 7.8, .bold = true, .ink = inks::accent};
}  // namespace styles

void add_heading(Flow& flow, std::string_view words);
// A lesser heading, bound to what follows.
void add_subheading(Flow& flow, std::string_view words);

// Names with their words, two to a line; an even number of them.
void add_facts(Flow& flow, const std::vector<std::pair<std::string, std::string>>& facts);

// A journal entry with the beginning of its hash, and the table of such rows.
[[nodiscard]] Row journal_row(const record::JournalEntry& entry);
void add_journal_table(Flow& flow, const std::vector<Row>& rows, double gap);

// The caution that stands on every page from the left at the height y, and words of the page at the right.
void draw_foot(cairo_t* context, double left, double right, double y, const std::string& words);

void add_front(Flow& flow, const CasePdfInput& input);
void add_item(Flow& flow, const CasePdfInput& input);
void add_findings(Flow& flow, const std::vector<record::Finding>& findings);
void add_seen(Flow& flow, const CasePdfInput& input);
void add_criteria(Flow& flow, const CasePdfInput& input);
void add_photos(Flow& flow, PdfDocument& document, const CasePdfInput& input);
void add_questions(Flow& flow, const CasePdfInput& input);
void add_correspondence(Flow& flow, const CasePdfInput& input);
void add_verdict(Flow& flow, const CasePdfInput& input);
void add_earlier_readings(Flow& flow, const CasePdfInput& input);
void add_earlier_checks(Flow& flow, const CasePdfInput& input);
void add_earlier(Flow& flow, const CasePdfInput& input);
void add_journal(Flow& flow, const CasePdfInput& input);

}  // namespace frayhold::pack
