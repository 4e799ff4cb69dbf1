// SPDX-License-Identifier: Apache-2.0
// The case's PDF without its photos: front, item, findings, criteria, letters, verdict, earlier holds,
// journal.
#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <utility>

#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/words.h"
#include "record/evidence.h"
#include "record/life.h"

namespace frayhold::pack {
namespace {

std::string on_day(const std::string& who, Time time) {
    return who.empty() ? to_text(day_of(time)) : fmt::format("{}, {}", who, to_text(day_of(time)));
}

std::string probability_words(double probability) {
    constexpr double tenth_of_a_percent = 0.001;
    if (probability >= 1.0 - tenth_of_a_percent / 2) return tr("over 99.9 %");
    if (probability < tenth_of_a_percent) return tr("under 0.1 %");
    return fmt::format("{:.1f} %", 100.0 * probability);
}

// One criterion and everything that met it.
struct MetCriterion {
    record::AdviceEntry entry;
    std::string because;
};

std::string because_words(const std::string& where, const record::AdviceEntry& entry) {
    std::string words = where + ": " + criteria::because_words(entry.because);
    // A finding by hand is certain; only of a reading the probability says something.
    const bool measured = entry.because.find("±") != std::string::npos;
    if (entry.probability && measured)
        words =
            trf("{}; probability that the limit is passed {}", words, probability_words(*entry.probability));
    if (entry.borderline) words = trf("{}; borderline: the reading alone does not settle it", words);
    return words;
}

// The gravest first; lines without a criterion only where no other is left.
std::vector<MetCriterion> met_criteria(const record::CaseFile& file) {
    std::vector<MetCriterion> all;
    const auto take = [&](const std::string& where, const record::AdviceEntry& entry) {
        const std::string because = entry.because.empty() ? where : because_words(where, entry);
        const auto known = std::find_if(all.begin(), all.end(), [&](const MetCriterion& met) {
            return met.entry.criterion == entry.criterion && met.entry.outcome == entry.outcome;
        });
        if (known == all.end()) {
            all.push_back({entry, because});
        } else {
            known->because += "\n" + because;
        }
    };
    for (const record::Finding& finding : file.findings)
        for (const record::AdviceEntry& entry : finding.advice)
            take(trf("Finding {}", finding.number), entry);
    for (const record::PhotoEntry& photo : file.photos)
        for (const record::AdviceEntry& entry : photo.advice) take(trf("Photo {}", photo.number), entry);
    const auto closing = [](const MetCriterion& met) { return met.entry.criterion.empty(); };
    if (!std::all_of(all.begin(), all.end(), closing)) std::erase_if(all, closing);
    const auto gravity = [](const MetCriterion& met) {
        return met.entry.outcome == criteria::Outcome::retire         ? 0
               : met.entry.outcome == criteria::Outcome::hold_and_ask ? 1
                                                                      : 2;
    };
    std::stable_sort(all.begin(), all.end(),
                     [&](const MetCriterion& a, const MetCriterion& b) { return gravity(a) < gravity(b); });
    return all;
}

// Words beside a bar in the accent colour, line by line, the first three on one page.
void add_notice(Flow& flow, const std::string& title, const std::string& words, double gap) {
    constexpr double indent = 10;
    const double width = flow.width() - indent;
    const std::vector<std::shared_ptr<const TextBlock>> texts{
        std::make_shared<const TextBlock>(
            flow.context(), title,
            Style{.family = Family::sans, .size_pt = 8.4, .bold = true, .ink = inks::accent, .leading = 1.15},
            width),
        std::make_shared<const TextBlock>(flow.context(), words, styles::body, width)};
    int placed = 0;
    for (const auto& text : texts)
        for (int line = 0; line < text->line_count(); ++line, ++placed) {
            Block block;
            block.gap = placed == 0 ? gap : 0;
            block.height = text->height_of_lines_pt(line, line + 1);
            block.with_next = placed < 2;
            block.draw = [text, line, height = block.height](cairo_t* context, double x, double y) {
                set_ink(context, inks::accent);
                cairo_rectangle(context, x, y, 2, height);
                cairo_fill(context);
                text->draw_lines(context, x + indent, y, line, line + 1);
            };
            flow.add(std::move(block));
        }
}

std::string override_words(const record::Verdict& verdict) {
    // Translators: who decided, the day, and the verdict: "Ida decided on 2026-03-01: return to service."
    std::string words = trf("{} decided on {}: {}. Against it stood:", verdict.by,
                            to_text(day_of(verdict.given)), record::words_for(verdict.kind));
    for (const std::string& rule : verdict.given_against) words += "\n–  " + tr_recorded(rule);
    return words + "\n" +
           (verdict.reason.empty() ? tr("Reason given: none") : trf("Reason given: {}", verdict.reason));
}

void add_overrides(Flow& flow, const CasePdfInput& input) {
    if (input.file.verdict && input.file.verdict->is_override())
        add_notice(flow, tr("Decided against a rule"), override_words(*input.file.verdict), 12);
    for (const record::EarlierHold& earlier : input.file.earlier)
        if (earlier.verdict && earlier.verdict->is_override())
            add_notice(flow, trf("Decided against a rule in an earlier hold, {}", earlier.hold.number),
                       override_words(*earlier.verdict), 12);
}

std::string verdict_line(const record::Verdict& verdict) {
    const std::string words = verdict_words(verdict);
    // Translators: a verdict, who gave it and the day; then its limit in a person's words.
    return verdict.limit.empty() ? words : trf("{}; limit: {}", words, verdict.limit);
}

std::string answer_line(const record::AnswerEntry& answer) {
    std::string words = capital(record::words_for(answer.answer));
    if (!answer.limit.empty()) words += ": " + answer.limit;
    return words;
}

std::vector<Column> pairs_columns(const Flow& flow) {
    return {{"", mm(32)}, {"", flow.width() - mm(32)}};
}

Row pair(const std::string& name, const std::string& words, const Style& style = styles::table) {
    return {{name, styles::table_quiet}, {words, style}};
}

}  // namespace

void add_heading(Flow& flow, std::string_view words) {
    const TextBlock text(flow.context(), words, Style{.size_pt = 13.5}, flow.width());
    Block block;
    block.gap = 20;
    block.height = text.height_pt() + 4;
    block.with_next = true;
    block.draw = [text](cairo_t* context, double x, double y) { text.draw(context, x, y); };
    flow.add(std::move(block));
}

void add_subheading(Flow& flow, std::string_view words) {
    add_paragraph(flow, words, Style{.family = Family::sans, .size_pt = 8.8, .bold = true}, 14, true);
}

void draw_foot(cairo_t* context, double left, double right, double y, const std::string& words) {
    const TextBlock at_right(context, words, Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet});
    // Beside a long mark it stands in several lines.
    const double room = std::max(mm(60), right - left - at_right.width_pt() - mm(3));
    TextBlock(context, tr_word(criteria::caution), Style{.size_pt = 7.6, .italic = true, .ink = inks::quiet},
              room)
        .draw(context, left, y);
    at_right.draw(context, right - at_right.width_pt(), y);
}

void add_front(Flow& flow, const CasePdfInput& input) {
    cairo_t* context = flow.context();
    const record::CaseFile& file = input.file;
    const TextBlock label(context, tr("EVIDENCE FOR A QUERY TO THE MAKER"),
                          Style{.family = Family::sans,
                                .size_pt = 6.8,
                                .bold = true,
                                .ink = inks::quiet,
                                .letter_spacing_pt = 0.7});
    const double made_width = std::min(mm(90), flow.width() - label.width_pt() - mm(3));
    const TextBlock made(
        context, (input.outfit.empty() ? "" : input.outfit + " · ") + minute_words(input.made),
        Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet}, made_width, Align::right);
    const TextBlock number(context, file.hold.number, Style{.size_pt = 27});
    const TextBlock subtitle(context, item_words(file.item), Style{.size_pt = 12, .ink = inks::quiet},
                             flow.width());
    Block title;
    const double number_top = 15;
    const double subtitle_top = number_top + number.height_pt();
    title.height = subtitle_top + subtitle.height_pt();
    const double width = flow.width();
    title.draw = [=](cairo_t* at, double x, double y) {
        label.draw(at, x, y);
        made.draw_lines(at, x + width - made_width, y, 0, 1);
        number.draw(at, x - 1, y + number_top);
        subtitle.draw(at, x, y + subtitle_top);
    };
    flow.add(std::move(title));

    add_paragraph(
        flow,
        tr_word(criteria::caution) + " " +
            tr("This file holds measured values, findings and advice. It declares nothing fit for service."),
        Style{.size_pt = 9.4, .italic = true}, 10);
    add_overrides(flow, input);

    const std::vector<MetCriterion> met = met_criteria(file);
    std::string advice = tr("None recorded");
    if (!met.empty()) advice = capital(record::words_for(met.front().entry.outcome));
    if (!met.empty() && !met.front().entry.criterion.empty())
        advice += ". " + tr_recorded(met.front().entry.words);
    const bool retire = !met.empty() && met.front().entry.outcome == criteria::Outcome::retire;
    std::string evidence;
    for (const record::RequiredView& view : record::evidence_list(file))
        evidence += (evidence.empty() ? "" : "\n") + capital(view.words);
    // Translators: a hold's state, then a name and a day: "Ready; opened by Ida Fenwright, 2026-03-01".
    const std::string hold = trf("{}; opened by {}", capital(record::words_for(file.hold.state)),
                                 on_day(file.hold.opened_by, file.hold.opened));
    std::vector<Row> rows{
        pair(tr("Hold"), hold),
        pair(tr("Advice"), advice, retire ? styles::alarm : styles::table_strong),
    };
    if (const auto answer = file.makers_answer())
        rows.push_back(pair(tr("Maker's answer"), answer_line(*answer), styles::table_strong));
    if (file.verdict)
        rows.push_back(pair(tr("Verdict"), verdict_line(*file.verdict),
                            file.verdict->is_override() ? styles::alarm : styles::table_strong));
    const record::LifeEnd life = record::life_end(file.item, day_of(input.made));
    rows.push_back(
        pair(tr("Life"), capital(life.words), life.counts_as_over() ? styles::alarm : styles::table));
    if (!file.hold.batch_note.empty())
        rows.push_back(pair(tr("Batch notice"), tr_recorded(file.hold.batch_note)));
    rows.push_back(pair(tr("Evidence"), evidence));
    add_table(flow, pairs_columns(flow), rows, 12);
}

void add_facts(Flow& flow, const std::vector<std::pair<std::string, std::string>>& facts) {
    std::vector<Row> rows;
    for (std::size_t i = 0; i < facts.size(); i += 2)
        rows.push_back({{facts[i].first, styles::table_quiet},
                        {facts[i].second, styles::table},
                        {facts[i + 1].first, styles::table_quiet},
                        {facts[i + 1].second, styles::table}});
    const double name = mm(32);
    const double words = flow.width() / 2 - name;
    add_table(flow, {{"", name}, {"", words}, {"", name}, {"", words}}, rows, 0);
}

Row journal_row(const record::JournalEntry& entry) {
    return {{std::to_string(entry.number), styles::table_quiet},
            {minute_words(entry.time), styles::table},
            {entry.who, styles::table},
            {record::action_words(entry.action), styles::table},
            {entry.hash.substr(0, 16), styles::table_quiet}};
}

void add_journal_table(Flow& flow, const std::vector<Row>& rows, double gap) {
    const double number = mm(14);
    const double time = mm(36);
    const double who = mm(44);
    const double hash = mm(38);
    add_table(flow,
              {{tr("No."), number},
               {tr("Time"), time},
               {tr("Who"), who},
               {tr("Action"), flow.width() - number - time - who - hash},
               {tr("Hash begins"), hash}},
              rows, gap);
}

void add_item(Flow& flow, const CasePdfInput& input) {
    const record::Item& item = input.file.item;
    add_heading(flow, tr("The item"));
    const std::vector<std::pair<std::string, std::string>> facts{
        {tr("Our mark"), item.mark},
        {tr("Kind"), record::words_for(item.kind)},
        {tr("Maker"), or_unknown(item.maker)},
        {tr("Model"), or_unknown(item.model)},
        {tr("Serial number"), or_unknown(item.serial)},
        {tr("Batch"), or_unknown(item.batch)},
        {tr("Standard marked on it"), or_unknown(item.standard)},
        {tr("Material"), or_unknown(item.material)},
        {tr("Diameter or width as sold"), or_unknown(item.diameter_or_width)},
        {tr("Length"), or_unknown(item.length)},
        {tr("Sheath colour"), or_unknown(item.sheath_colour)},
        {tr("Core colour"), or_unknown(item.core_colour)},
        {tr("Made"), or_unknown(item.made)},
        {tr("Bought"), or_unknown(item.bought)},
        {tr("First used"), or_unknown(item.first_used)},
        {tr("Cut from"), item.parent.empty() ? tr("a whole item") : item.parent},
    };
    add_facts(flow, facts);
}

void add_findings(Flow& flow, const std::vector<record::Finding>& findings) {
    std::vector<Row> rows;
    for (const record::Finding& finding : findings) {
        std::string words = finding.kind_words.empty() ? finding.kind : tr_word(finding.kind_words);
        if (!finding.words.empty()) words += "\n" + finding.words;
        rows.push_back({{std::to_string(finding.number), styles::table_quiet},
                        {words, styles::table},
                        {record::place_words(finding), styles::table},
                        {on_day(finding.found_by, finding.found), styles::table_quiet}});
    }
    const double number = mm(9);
    const double place = mm(46);
    const double found = mm(44);
    add_table(flow,
              {{tr("No."), number},
               {tr("Finding by hand or eye"), flow.width() - number - place - found},
               {tr("Where"), place},
               {tr("By"), found}},
              rows, 8);
}

void add_seen(Flow& flow, const CasePdfInput& input) {
    add_heading(flow, tr("What was seen and felt"));
    add_paragraph(flow, tr_recorded(input.file.hold.seen), styles::body, 0, true);
    add_paragraph(flow, on_day(input.file.hold.opened_by, input.file.hold.opened), styles::aside, 2);
    add_findings(flow, input.file.findings);
}

void add_criteria(Flow& flow, const CasePdfInput& input) {
    add_heading(flow, tr("Criteria met"));
    std::vector<Row> rows;
    for (const MetCriterion& met : met_criteria(input.file)) {
        const record::AdviceEntry& entry = met.entry;
        rows.push_back({{capital(record::words_for(entry.outcome)),
                         entry.outcome == criteria::Outcome::retire ? styles::alarm : styles::table_strong},
                        {tr_recorded(entry.words), styles::table},
                        {met.because, styles::table},
                        {tr_recorded(entry.source), styles::table_quiet}});
    }
    if (rows.empty())
        add_paragraph(
            flow,
            tr("No reading and no finding was weighed against the criteria: the competent person decides."),
            styles::body, 0);
    const double outcome = mm(24);
    const double because = mm(54);
    const double source = mm(30);
    add_table(flow,
              {{tr("Advice"), outcome},
               {tr("Criterion"), flow.width() - outcome - because - source},
               {tr("Because of"), because},
               {tr("Source"), source}},
              rows, 0);
}

void add_questions(Flow& flow, const CasePdfInput& input) {
    if (input.questions.empty() && input.own_words.empty()) return;
    add_heading(flow, tr("Questions to the maker"));
    std::vector<Row> rows;
    for (const std::string& question : input.questions)
        rows.push_back({{std::to_string(rows.size() + 1), styles::table_quiet}, {question, styles::body}});
    add_table(flow, {{"", mm(9)}, {"", flow.width() - mm(9)}}, rows, 0);
    if (!input.own_words.empty()) add_paragraph(flow, input.own_words, styles::body, rows.empty() ? 0 : 8);
}

void add_correspondence(Flow& flow, const CasePdfInput& input) {
    const record::CaseFile& file = input.file;
    if (file.queries.empty() && file.replies.empty()) return;
    add_heading(flow, tr("Correspondence"));
    struct Line {
        Time time{};
        Row row;
    };
    std::vector<Line> lines;
    for (const record::Query& query : file.queries) {
        const Time time = query.sent.value_or(query.made);
        lines.push_back({time,
                         {{to_text(day_of(time)), styles::table_quiet},
                          {query.sent ? tr("Sent") : tr("Made, not sent"), styles::table_strong},
                          {query.to, styles::table},
                          {query.subject, styles::table}}});
    }
    for (const record::Reply& reply : file.replies) {
        std::string words = tr_recorded(reply.subject);
        if (reply.answer) words += "\n" + trf("Entered as: {}", answer_line(*reply.answer));
        if (reply.answer && !reply.answer->words.empty()) words += "\n“" + reply.answer->words + "”";
        lines.push_back({reply.received,
                         {{to_text(day_of(reply.received)), styles::table_quiet},
                          {reply.automatic                        ? tr("Automatic, no answer")
                           : reply.way == record::ReplyWay::phone ? tr("By telephone")
                                                                  : tr("Received"),
                           styles::table_strong},
                          {reply.from, styles::table},
                          {words, styles::table}}});
    }
    std::stable_sort(lines.begin(), lines.end(),
                     [](const Line& a, const Line& b) { return a.time < b.time; });
    std::vector<Row> rows;
    for (Line& line : lines) rows.push_back(std::move(line.row));
    const double day = mm(20);
    const double state = mm(24);
    const double party = mm(46);
    add_table(flow,
              {{tr("Day"), day},
               {"", state},
               {tr("To or from"), party},
               {tr("Subject"), flow.width() - day - state - party}},
              rows, 0);
}

void add_verdict(Flow& flow, const CasePdfInput& input) {
    if (!input.file.verdict) return;
    const record::Verdict& verdict = *input.file.verdict;
    add_heading(flow, tr("Verdict of the competent person"));
    std::vector<Row> rows{pair(tr("Verdict"), verdict_line(verdict), styles::table_strong)};
    if (!verdict.reason.empty()) rows.push_back(pair(tr("Reason"), verdict.reason));
    for (const record::Part& part : verdict.parts)
        rows.push_back(pair(tr("Part kept"), part.mark + ", " + record::length_words(part.length)));
    if (verdict.scrapped)
        rows.push_back(pair(tr("Cut out and destroyed"), record::length_words(*verdict.scrapped)));
    if (!verdict.witness.empty()) rows.push_back(pair(tr("Witness"), verdict.witness));
    for (const std::string& rule : verdict.given_against)
        rows.push_back(pair(tr("Given against"), tr_recorded(rule), styles::alarm));
    add_table(flow, pairs_columns(flow), rows, 0);
}

void add_earlier(Flow& flow, const CasePdfInput& input) {
    if (input.file.earlier.empty()) return;
    add_heading(flow, tr("Earlier holds of this item"));
    for (const record::EarlierHold& earlier : input.file.earlier) {
        add_subheading(flow, trf("{}, opened {}", earlier.hold.number, to_text(day_of(earlier.hold.opened))));
        add_paragraph(flow, tr_recorded(earlier.hold.seen), styles::body, 2);
        add_findings(flow, earlier.findings);
        std::vector<Row> rows;
        if (earlier.verdict) {
            rows.push_back(pair(tr("Verdict"), verdict_line(*earlier.verdict), styles::table_strong));
            if (!earlier.verdict->reason.empty()) rows.push_back(pair(tr("Reason"), earlier.verdict->reason));
            for (const std::string& rule : earlier.verdict->given_against)
                rows.push_back(pair(tr("Given against"), tr_recorded(rule), styles::alarm));
        } else {
            rows.push_back(pair(tr("Verdict"), tr("none yet")));
        }
        add_table(flow, pairs_columns(flow), rows, 6);
    }
}

void add_journal(Flow& flow, const CasePdfInput& input) {
    const std::vector<record::JournalEntry>& journal = input.file.journal;
    if (journal.empty()) return;
    add_heading(flow, tr("Journal of the case"));
    constexpr std::size_t most_entries = 150;
    const std::size_t first = journal.size() > most_entries ? journal.size() - most_entries : 0;
    add_paragraph(
        flow,
        tr("Each entry's hash covers the one before it, so that no entry can be changed unseen.") +
            (first > 0 ? " " + trn("The {} oldest entry is left out here; it stands in case.json.",
                                   "The {} oldest entries are left out here; they stand in case.json.", first)
                       : std::string()),
        styles::aside, 0, true);
    std::vector<Row> rows;
    for (std::size_t i = first; i < journal.size(); ++i) rows.push_back(journal_row(journal[i]));
    add_journal_table(flow, rows, 6);
    const std::string& head = input.file.journal_head.empty() ? journal.back().hash : input.file.journal_head;
    add_paragraph(flow,
                  trf("Journal head when this was made: {}", head) + "\n" +
                      tr("Who keeps this page can have it proved that nothing before was changed since: "
                         "frayhold verify --head, with this value."),
                  Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet}, 6);
}

}  // namespace frayhold::pack
